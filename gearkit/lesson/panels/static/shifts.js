// A shift from range to range at constant output speed, or out of neutral at standstill: what lets go, what takes hold, and
// every speed on the way.

import { Exact, decimal, listed } from "./exact.js";
import { working } from "./one_way.js";
import { speedsWithOutputStill } from "./train.js";
import { NEUTRAL, RANGE } from "./verdicts.js";
import { say } from "./words.js";

// from, to: ranges of the train -> everything about the shift but its speeds
export function shiftOf(memory, from, to) {
  const applied = [from, to].map(({ engaged }) => engaged.filter((name) => !memory.clutches.has(name)));
  const [before, after] = applied.map((names) => working(memory, names));
  const offGoing = applied[0].filter((name) => !applied[1].includes(name));
  const onComing = applied[1].filter((name) => !applied[0].includes(name));
  const itself = before.holding.join() !== after.holding.join();
  const standing = before.verdict === NEUTRAL && after.verdict === RANGE;
  const speedsOf = ({ engaged, mobility }) => (standing ? speedsWithOutputStill(memory.train, new Set(engaged)) : mobility.speeds);
  return {
    from: from.name, to: to.name, before, after, offGoing, onComing,
    staying: applied[0].filter((name) => applied[1].includes(name)),
    lettingGo: before.holding.filter((name) => !after.holding.includes(name)),
    takingHold: after.holding.filter((name) => !before.holding.includes(name)),
    standing, speeds: [before, after].map(speedsOf),
    kind: kindOf(offGoing.length, onComing.length, itself),
    step: before.ratio !== null && after.ratio !== null ? before.ratio.over(after.ratio) : null,
    overlap: working(memory, [...applied[0], ...applied[1]]),
    underlap: working(memory, applied[0].filter((name) => applied[1].includes(name))),
  };
}

function kindOf(off, on, itself) {
  if (itself && Math.max(off, on) === 1) return "freewheel shift";
  const kinds = { "0 0": "no change", "0 1": "one element applied", "1 0": "one element released", "1 1": "single swap", "2 2": "double swap" };
  return kinds[`${off} ${on}`] || "uneven swap";
}

// Speeds with the shift gone a share of its way, in the unit of the input speed before it; the output keeps its speed, so
// what both ranges settle goes evenly from its speed before to its speed after. null where one of them leaves it free.
// Out of neutral the vehicle stands: the output stays at rest, and the range brings the input to rest with it.
// share: an exact number from 0 to 1 -> { input, shafts: [...], slips: name -> speed }
export function speedsAt(memory, shift, inputSpeed, share) {
  const start = Exact.of(inputSpeed);
  const end = shift.standing ? start : start.over(shift.step);
  const [first, last] = shift.speeds;
  const shafts = memory.train.shafts.map((_, shaft) => between(scaled(first[shaft], start), scaled(last[shaft], end), share));
  const slips = new Map(memory.train.elements.map(({ name, between: [first, second] }) => {
    const [one, other] = [shafts[first], shafts[second]];
    return [name, one === null || other === null ? null : one.minus(other)];
  }));
  return { input: shafts[memory.train.input], shafts, slips };
}

function scaled(speed, factor) { return speed === null ? null : speed.times(factor); }

function between(first, last, share) {
  if (share.isZero) return first;
  if (share.n === share.d) return last;
  return first === null || last === null ? null : first.plus(last.minus(first).times(share));
}

// Whether the elements that stay let input and output alone settle each speed on the way; else two swaps run side by side.
export function settledOnTheWay(shift) { return shift.underlap.mobility.freedom <= 2; }

export function overlapWords(memory, shift) {
  const { offGoing, onComing, lettingGo, takingHold, overlap } = shift;
  if (!offGoing.length) return say("Nothing has to be released{letting_go}, so no overlap can bind.", { letting_go: lettingGo.length ? say(": {letting_go} lets go by itself", { letting_go: listed(lettingGo) }) : "" });
  if (!onComing.length) return say("Nothing has to be applied{taking_hold}, so no overlap can bind.", { taking_hold: takingHold.length ? say(": {taking_hold} takes hold by itself", { taking_hold: listed(takingHold) }) : "" });
  const names = [...offGoing, ...onComing];
  const start = say("Overlap, while {names}:", { names: names.length === 2 ? say("both {names} and {names_2} hold", { names: names[0], names_2: names[1] }) : say("{names} all hold", { names: listed(names) }) });
  if (overlap.verdict === RANGE) return say("{start} the train runs in {ratio_of}; nothing binds.", { start, ratio_of: ratioOf(memory, overlap) });
  if (overlap.verdict === NEUTRAL) return say("{start} the train is in neutral; nothing binds.", { start });
  return say("{start} {verdict}; the train binds, drags the output back and pulls the engine down.", { start, verdict: overlap.verdict });
}

export function underlapWords(memory, shift) {
  const { underlap, step } = shift;
  const names = [...shift.offGoing, ...shift.onComing];
  if (!names.length) return say("No element is applied or released.");
  const start = say("Underlap, while {none_holds}:", { none_holds: noneHolds(names) });
  if (underlap.verdict === RANGE) {
    return underlap.holding.length && step !== null
      ? say("{start} the engine is free until {holding} takes hold at {ratio_of}.", { start, holding: listed(underlap.holding), ratio_of: ratioOf(memory, underlap) })
      : say("{start} the train runs in {ratio_of}.", { start, ratio_of: ratioOf(memory, underlap) });
  }
  if (underlap.verdict !== NEUTRAL) return `${start} ${underlap.verdict}.`;
  return say("{start} input and output are independent; {step}.", { start, step: step !== null ? say("a driving engine flares") : say("nothing drives yet") });
}

function noneHolds(names) {
  if (names.length === 1) return say("{names} does not hold", { names: names[0] });
  return names.length === 2 ? say("neither {names} nor {names_2} holds", { names: names[0], names_2: names[1] }) : say("none of {names} holds", { names: names.join(", ") });
}

function ratioOf(memory, state) {
  const name = memory.runsAs(state);
  return name ? say("the ratio of range {name}", { name }) : say("a ratio of {ratio}, which no range has", { ratio: decimal(state.ratio) });
}
