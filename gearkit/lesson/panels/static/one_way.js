// What applied elements do once the one-way clutches have taken hold or let go, as the kernel's one judgement has it
// (gearkit.solve.one_way, where the reasons stand); the test of the panels holds the two together.

import { listed } from "./exact.js";
import { comesFirst, limits, union } from "./one_way_limits.js";
import { assess } from "./train.js";
import { LOCKED, TIE_UP } from "./verdicts.js";
import { say, sayN } from "./words.js";

export const DRIVE = 1;
export const COAST = -1;

// A train with all that was asked of it so far; a panel asks for the same few combinations again and again.
export class Memory {
  constructor(train) {
    this.train = train;
    this.assessed = new Map();
    this.clutches = new Map(train.elements.filter((element) => element.holds).map((element) => [element.name, element.holds]));
    this.names = null;
  }

  // names: any collection of element names
  inOrder(names) {
    const wanted = new Set(names);
    return this.train.elements.map((element) => element.name).filter((name) => wanted.has(name));
  }

  assess(names) {
    const order = this.inOrder(names);
    const key = order.join(" ");
    if (!this.assessed.has(key)) this.assessed.set(key, assess(this.train, new Set(order)));
    return this.assessed.get(key);
  }

  element(name) { return this.train.elements.find((element) => element.name === name); }

  // ratio as text -> the ranges of the chart that have it, each with what holds in it
  rangesAlike() {
    if (!this.alike) {
      this.alike = new Map();
      for (const { name, engaged } of this.train.ranges) {
        const state = working(this, engaged);
        if (state.ratio === null) continue;
        const alike = this.alike.get(state.ratio.toString()) ?? [];
        this.alike.set(state.ratio.toString(), [...alike, { name, holds: new Set(state.engaged) }]);
      }
    }
    return this.alike;
  }

  // the first range that has a ratio
  nameOf(ratio) { return ratio === null ? null : this.rangesAlike().get(ratio.toString())?.[0].name ?? null; }

  // the range that a state runs as: of several with its ratio the one whose elements are most like those that hold
  runsAs({ ratio, engaged }) {
    const alike = ratio === null ? [] : this.rangesAlike().get(ratio.toString()) ?? [];
    const apart = ({ holds }) => engaged.filter((name) => !holds.has(name)).length + [...holds].filter((name) => !engaged.includes(name)).length;
    return alike.reduce((best, each) => (best === null || apart(each) < apart(best) ? each : best), null)?.name ?? null;
  }
}

// applied: element names, one-way clutches that act by themselves among them only say that the asker counts on them;
// clutches: name -> the sense in which it holds; one that is not named is an ordinary element.
// -> { applied, listed, holding, engaged, verdict, ratio, mobility }
export function working(memory, applied, drive = DRIVE, clutches = memory.clutches) {
  const asked = memory.inOrder(applied);
  const names = asked.filter((name) => !clutches.has(name));
  const listed = asked.filter((name) => clutches.has(name));
  const alone = memory.assess(names);
  const none = alone.verdict === TIE_UP || clutches.size === 0;
  const holding = none ? [] : memory.inOrder(held(limits(memory.train, new Set(names), clutches), drive));
  const engaged = memory.inOrder([...names, ...holding]);
  const mobility = memory.assess(engaged);
  return { applied: names, listed, holding, engaged, mobility, verdict: mobility.verdict, ratio: mobility.ratio };
}

// The clutches that hold: where the input turns, those at the end of the output's span of speeds that the torque presses on.
function held(limitsOfSpeed, drive) {
  if (limitsOfSpeed.inputBy !== null) {
    if (limitsOfSpeed.forwardBy === null || limitsOfSpeed.reverseBy === null) return limitsOfSpeed.inputBy;
    return union(limitsOfSpeed.inputBy, limitsOfSpeed.forwardBy, limitsOfSpeed.reverseBy);
  }
  if (limitsOfSpeed.low?.isZero && limitsOfSpeed.high?.isZero) return union(limitsOfSpeed.lowBy, limitsOfSpeed.highBy);
  const ends = [];
  if (limitsOfSpeed.low !== null && limitsOfSpeed.low.sign * drive > 0) ends.push(limitsOfSpeed.lowBy);
  if (limitsOfSpeed.high !== null && limitsOfSpeed.high.sign * drive < 0) ends.push(limitsOfSpeed.highBy);
  return ends.length === 2 && comesFirst(ends[1], ends[0]) ? ends[1] : ends[0] ?? [];
}

// What one-way clutches make of the elements asked for, in a few words; "" where they do as listed.
export function noteOf(memory, state) {
  const { applied, listed: asked, holding, verdict, ratio } = state;
  if (LOCKED.includes(verdict)) return holding.length ? say("locked by {elements}", { elements: listed(holding) }) : "";
  const asAsked = memory.assess([...applied, ...asked]);
  if (asAsked.verdict === verdict && String(asAsked.ratio) === String(ratio)) return "";
  const unasked = holding.filter((name) => !asked.includes(name));
  const loose = asked.filter((name) => !holding.includes(name));
  const told = [];
  if (unasked.length) told.push(sayN("{elements} holds", "{elements} hold", unasked.length, { elements: listed(unasked) }));
  if (loose.length) told.push(sayN("{elements} freewheels", "{elements} freewheel", loose.length, { elements: listed(loose) }));
  return say("{does} in {drive}", { does: told.join(", "), drive: say("drive") });
}
