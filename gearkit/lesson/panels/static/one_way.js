// What applied elements do once the one-way clutches have taken hold or let go, as the kernel finds it: by trying.
//
// A choice of holding clutches stands when each of them is loaded in the sense in which it can hold, and no other one
// would have to overrun in that sense. The sense of a load comes from the balance of power: with the clutch let go and
// the output kept still, input torque times input speed and clutch torque times slip add up to nothing.

import { assess, slipWithOutputStill } from "./train.js";

export const DRIVE = 1;
export const COAST = -1;
const LOCKED = ["tie-up", "input locked", "output locked"];

// A train with all that was asked of it so far; a panel asks for the same few combinations again and again.
export class Memory {
  constructor(train) {
    this.train = train;
    this.found = new Map();
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
    if (!this.found.has(key)) this.found.set(key, assess(this.train, new Set(order)));
    return this.found.get(key);
  }

  element(name) { return this.train.elements.find((element) => element.name === name); }

  slip(found, name) {
    const [first, second] = this.element(name).between.map((shaft) => found.speeds[shaft]);
    return first === null || second === null ? null : first.minus(second);
  }

  // ratio as text -> the first range of the chart that has it
  rangeNames() {
    if (!this.names) {
      this.names = new Map();
      for (const { name, engaged } of this.train.ranges) {
        const { ratio } = this.assess(engaged);
        if (ratio !== null && !this.names.has(ratio.toString())) this.names.set(ratio.toString(), name);
      }
    }
    return this.names;
  }

  nameOf(ratio) { return ratio === null ? null : this.rangeNames().get(ratio.toString()) ?? null; }
}

// applied: element names, one-way clutches that act by themselves among them are left out;
// clutches: name -> the sense in which it holds; one that is not named is an ordinary element.
// -> { applied, holding, engaged, verdict, ratio, found }
export function working(memory, applied, drive = DRIVE, clutches = memory.clutches) {
  const names = memory.inOrder(applied).filter((name) => !clutches.has(name));
  const outcome = (holding) => {
    const engaged = memory.inOrder([...names, ...holding]);
    const found = memory.assess(engaged);
    return { applied: names, holding, engaged, found, verdict: found.verdict, ratio: found.ratio };
  };
  const alone = memory.assess(names);
  if (LOCKED.includes(alone.verdict) || clutches.size === 0) return outcome([]);
  const wrongWay = (found, name) => (memory.slip(found, name)?.sign ?? 0) * clutches.get(name) < 0;
  const blocked = [...clutches.keys()].filter((name) => wrongWay(alone, name));
  if (blocked.length === 0 && alone.verdict === "range") return outcome([]);
  // Every clutch that holds takes one freedom away, and a range keeps one.
  for (const chosen of choices([...clutches.keys()], alone.freedom - 1)) {
    const found = memory.assess([...names, ...chosen]);
    if (found.verdict !== "range") continue;
    if ([...clutches.keys()].some((name) => !chosen.includes(name) && wrongWay(found, name))) continue;
    const held = [...names, ...chosen];
    if (chosen.every((name) => loadSense(memory, held, name, drive) * clutches.get(name) > 0)) return outcome(chosen);
  }
  return outcome(blocked);
}

function loadSense(memory, held, name, drive) {
  const slip = slipWithOutputStill(memory.train, new Set(held.filter((other) => other !== name)), memory.element(name));
  return slip === null ? 0 : -drive * slip.sign;
}

// Subsets, smallest first, in the clutches' order.
function choices(names, most) {
  const found = [];
  const grow = (start, chosen, size) => {
    if (chosen.length === size) { found.push(chosen); return; }
    for (let k = start; k < names.length; k += 1) grow(k + 1, [...chosen, names[k]], size);
  };
  for (let size = 1; size <= Math.min(most, names.length); size += 1) grow(0, [], size);
  return found;
}
