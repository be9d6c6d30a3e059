// A shift from range to range at constant output speed, or out of neutral at standstill: what lets go, what takes hold, and
// every speed on the way.

import { Exact, decimal, listed } from "./exact.js";
import { working } from "./one_way.js";
import { speedsWithOutputStill } from "./train.js";
import { NEUTRAL, RANGE } from "./verdicts.js";

// from, to: ranges of the train -> everything about the shift but its speeds
export function shiftOf(memory, from, to) {
  const applied = [from, to].map(({ engaged }) => engaged.filter((name) => !memory.clutches.has(name)));
  const [before, after] = applied.map((names) => working(memory, names));
  const offGoing = applied[0].filter((name) => !applied[1].includes(name));
  const onComing = applied[1].filter((name) => !applied[0].includes(name));
  const itself = before.holding.join() !== after.holding.join();
  const standing = before.verdict === NEUTRAL && after.verdict === RANGE;
  const speedsOf = ({ engaged, found }) => (standing ? speedsWithOutputStill(memory.train, new Set(engaged)) : found.speeds);
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
export function settledOnTheWay(shift) { return shift.underlap.found.freedom <= 2; }

export function overlapWords(memory, shift) {
  const { offGoing, onComing, lettingGo, takingHold, overlap } = shift;
  if (!offGoing.length) return `Nothing has to be released${lettingGo.length ? `: ${listed(lettingGo)} lets go by itself` : ""}, so no overlap can bind.`;
  if (!onComing.length) return `Nothing has to be applied${takingHold.length ? `: ${listed(takingHold)} takes hold by itself` : ""}, so no overlap can bind.`;
  const names = [...offGoing, ...onComing];
  const start = `Overlap, while ${names.length === 2 ? `both ${names[0]} and ${names[1]} hold` : `${listed(names)} all hold`}:`;
  if (overlap.verdict === RANGE) return `${start} the train runs in ${ratioOf(memory, overlap)}; nothing binds.`;
  if (overlap.verdict === NEUTRAL) return `${start} the train is in neutral; nothing binds.`;
  return `${start} ${overlap.verdict}; the train binds, drags the output back and pulls the engine down.`;
}

export function underlapWords(memory, shift) {
  const { underlap, step } = shift;
  const names = [...shift.offGoing, ...shift.onComing];
  if (!names.length) return "No element is applied or released.";
  const start = `Underlap, while ${noneHolds(names)}:`;
  if (underlap.verdict === RANGE) {
    return underlap.holding.length && step !== null
      ? `${start} the engine is free until ${listed(underlap.holding)} takes hold at ${ratioOf(memory, underlap)}.`
      : `${start} the train runs in ${ratioOf(memory, underlap)}.`;
  }
  if (underlap.verdict !== NEUTRAL) return `${start} ${underlap.verdict}.`;
  return `${start} input and output are independent; ${step !== null ? "a driving engine flares" : "nothing drives yet"}.`;
}

function noneHolds(names) {
  if (names.length === 1) return `${names[0]} does not hold`;
  return names.length === 2 ? `neither ${names[0]} nor ${names[1]} holds` : `none of ${names.join(", ")} holds`;
}

function ratioOf(memory, state) {
  const name = memory.runsAs(state);
  return name ? `the ratio of range ${name}` : `a ratio of ${decimal(state.ratio)}, which no range has`;
}
