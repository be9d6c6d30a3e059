// What a set of applied elements does to a train, and how fast each shaft then turns: exact, by rank, never by counting.
//
// A train comes from the kernel once: the weights (a, b) of each set with a*w_sun + b*w_ring = (a + b)*w_carrier, the
// shaft of each member, and the two shafts of each element. Speeds are for an input speed of 1.

import { Exact, ZERO, ONE } from "./exact.js";
import { INPUT_LOCKED, NEUTRAL, OUTPUT_LOCKED, RANGE, TIE_UP } from "./verdicts.js";

export function speedRows(train, engaged) {
  const width = train.shafts.length;
  const rows = [];
  const row = () => Array(width).fill(ZERO);
  const held = row();
  held[train.housing] = ONE;
  rows.push(held);
  for (const set of train.sets) {
    const [a, b] = set.weights.map(Exact.of);
    const [sun, carrier, ring] = set.shafts;
    const equation = row();
    equation[sun] = equation[sun].plus(a);
    equation[ring] = equation[ring].plus(b);
    equation[carrier] = equation[carrier].minus(a.plus(b));
    rows.push(equation);
  }
  for (const element of train.elements) {
    if (!engaged.has(element.name)) continue;
    const [first, second] = element.between;
    const equation = row();
    equation[first] = equation[first].plus(ONE);
    equation[second] = equation[second].minus(ONE);
    rows.push(equation);
  }
  return rows;
}

// Rows reduced to pivots; each pivot row has a one at its pivot, and no other row has anything in that column.
export class Reduced {
  constructor() { this.rows = []; }

  remainder(row) {
    let left = row.slice();
    for (const { pivot, entries } of this.rows) {
      const factor = left[pivot];
      if (!factor.isZero) left = left.map((entry, k) => (entries[k].isZero ? entry : entry.minus(factor.times(entries[k]))));
    }
    return left;
  }

  holds(row) { return this.remainder(row).every((entry) => entry.isZero); }

  add(row) {
    const left = this.remainder(row);
    const pivot = left.findIndex((entry) => !entry.isZero);
    if (pivot < 0) return false;
    const scale = left[pivot];
    const entries = left.map((entry) => entry.over(scale));
    for (const other of this.rows) {
      const factor = other.entries[pivot];
      if (!factor.isZero) other.entries = other.entries.map((entry, k) => entry.minus(factor.times(entries[k])));
    }
    this.rows.push({ pivot, entries });
    return true;
  }

  copy() {
    const other = new Reduced();
    other.rows = this.rows.map(({ pivot, entries }) => ({ pivot, entries: entries.slice() }));
    return other;
  }
}

function unit(width, position) {
  return Array.from({ length: width }, (_, k) => (k === position ? ONE : ZERO));
}

// train, engaged (a Set of element names) -> { verdict, freedom, redundant, ratio, speeds }
export function assess(train, engaged) {
  const width = train.shafts.length;
  const known = new Reduced();
  let redundant = 0;
  for (const row of speedRows(train, engaged)) if (!known.add(row)) redundant += 1;
  const inputRow = unit(width, train.input);
  const outputRow = unit(width, train.output);
  const inputStuck = known.holds(inputRow);
  const outputStuck = known.holds(outputRow);
  const freedom = width - known.rows.length;

  const driven = known.copy();
  driven.add(inputRow);
  const outputFollows = driven.holds(outputRow);
  let verdict = NEUTRAL;
  if (inputStuck && outputStuck) verdict = TIE_UP;
  else if (inputStuck) verdict = INPUT_LOCKED;
  else if (outputStuck) verdict = OUTPUT_LOCKED;
  else if (outputFollows) verdict = RANGE;

  const speeds = inputStuck ? stillSpeeds(known, width) : drivenSpeeds(known, width, train.input);
  const outputSpeed = speeds[train.output];
  const ratio = verdict === RANGE ? ONE.over(outputSpeed) : null;
  return { verdict, freedom, redundant, ratio, speeds };
}

// With the input stuck nothing is driven; a shaft that follows from that is at rest, and the others are free.
function stillSpeeds(known, width) {
  return Array.from({ length: width }, (_, k) => (known.holds(unit(width, k)) ? ZERO : null));
}

// Each shaft's speed as a multiple of the input's, or null where the input does not settle it.
function drivenSpeeds(known, width, input) {
  const speeds = Array(width).fill(null);
  const driven = known.copy();
  driven.add(unit(width, input));
  for (let shaft = 0; shaft < width; shaft += 1) {
    if (!driven.holds(unit(width, shaft))) continue;
    speeds[shaft] = multipleOf(known, width, shaft, input);
  }
  return speeds;
}

// The factor f with w_shaft - f * w_input = 0 in every motion: eliminate all but the input.
function multipleOf(known, width, shaft, input) {
  return shaft === input ? ONE : factorOf(known, unit(width, shaft), unit(width, input));
}

function factorOf(known, row, inputRow) {
  const left = known.remainder(row);
  const base = known.remainder(inputRow);
  const position = base.findIndex((entry) => !entry.isZero);
  return left[position].over(base[position]);
}

// Each shaft's speed for an input speed of 1 while the output is kept still; null where that does not settle it.
export function speedsWithOutputStill(train, engaged) {
  const width = train.shafts.length;
  const known = new Reduced();
  for (const row of speedRows(train, engaged)) known.add(row);
  known.add(unit(width, train.output));
  return known.holds(unit(width, train.input)) ? stillSpeeds(known, width) : drivenSpeeds(known, width, train.input);
}

// One set alone: two known speeds give the third. speeds: { sun, carrier, ring } with exactly one of them null.
export function thirdSpeed(weights, speeds) {
  const [a, b] = weights.map(Exact.of);
  const { sun, carrier, ring } = speeds;
  if (carrier === null) return a.times(sun).plus(b.times(ring)).over(a.plus(b));
  if (ring === null) return a.plus(b).times(carrier).minus(a.times(sun)).over(b);
  return a.plus(b).times(carrier).minus(b.times(ring)).over(a);
}

// The speed of the planet pinions of a single-pinion set, seen from the housing.
export function planetSpeed(sunTeeth, planetTeeth, sun, carrier) {
  return carrier.minus(sun.minus(carrier).times(new Exact(BigInt(sunTeeth), BigInt(planetTeeth))));
}
