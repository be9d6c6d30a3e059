// What one-way clutches forbid, as the kernel finds it (one_way_limits): every shaft but input and output is eliminated from
// "no slip is negative in a free direction"; each inequality keeps the names of the clutches that bring it about.

import { ZERO, ONE } from "./exact.js";
import { Reduced, speedRows } from "./train.js";

// applied: a Set of element names; clutches: name -> the sense in which it holds its first part.
// -> { low, high, lowBy, highBy, inputBy, forwardBy, reverseBy }: speeds of the output at input speed 1 or null where nothing
// limits them; clutch names, or null where the input (the output with the input at rest) can turn that way.
export function limits(train, applied, clutches) {
  const known = new Reduced();
  for (const row of speedRows(train, applied)) known.add(row);
  const ends = [train.input, train.output];
  const inner = known.rows.filter(({ pivot }) => !ends.includes(pivot));
  let bounds = [...clutches].map(([name, sense]) => ({ row: cleared(slipRow(train, name, sense), inner), by: [name] }));
  const pivots = new Set(known.rows.map(({ pivot }) => pivot));
  let count = 0;
  for (let shaft = 0; shaft < train.shafts.length; shaft += 1) {
    if (ends.includes(shaft) || pivots.has(shaft)) continue;
    count += 1;
    // An inequality of more clutches than shafts were eliminated, and one, follows from the others.
    bounds = eliminated(bounds, shaft).filter(({ by }) => by.length <= count + 1);
  }
  for (const { pivot, entries } of known.rows) {
    if (ends.includes(pivot)) bounds.push({ row: entries, by: [] }, { row: entries.map((entry) => entry.negated()), by: [] });
  }
  return limitsOf(bounds, train.input, train.output);
}

function slipRow(train, name, sense) {
  const [first, second] = train.elements.find((element) => element.name === name).between;
  const row = Array(train.shafts.length).fill(ZERO);
  const unit = sense > 0 ? ONE : ONE.negated();
  row[first] = row[first].plus(unit);
  row[second] = row[second].minus(unit);
  return row;
}

function cleared(row, inner) {
  return inner.reduce((left, { pivot, entries }) => added(left, entries, left[pivot].negated()), row);
}

function added(row, other, factor) {
  return factor.isZero ? row : row.map((entry, k) => (other[k].isZero ? entry : entry.plus(factor.times(other[k]))));
}

function eliminated(bounds, shaft) {
  const ups = bounds.filter(({ row }) => row[shaft].sign > 0);
  const downs = bounds.filter(({ row }) => row[shaft].sign < 0);
  const rest = bounds.filter(({ row }) => row[shaft].isZero);
  return [...rest, ...ups.flatMap((up) => downs.map((down) => ({
    row: added(down.row, up.row, down.row[shaft].over(up.row[shaft]).negated()),
    by: union(up.by, down.by),
  })))];
}

export function union(...lists) { return [...new Set(lists.flat())].sort(); }

function limitsOf(bounds, inp, out) {
  if (inp === out) {
    // Input and output are one shaft: the output does what the input does.
    return { low: ONE, high: ONE, lowBy: [], highBy: [], inputBy: fewest(bounds.filter(({ row }) => row[inp].sign < 0)),
      forwardBy: [], reverseBy: [] };
  }
  const below = bounds.filter(({ row }) => row[out].sign > 0);
  const above = bounds.filter(({ row }) => row[out].sign < 0);
  const low = nearest(below, inp, out, 1);
  const high = nearest(above, inp, out, -1);
  return {
    low: low.value, high: high.value, lowBy: low.by, highBy: high.by,
    inputBy: fewest(eliminated(bounds, out).filter(({ row }) => row[inp].sign < 0)),
    forwardBy: fewest(above), reverseBy: fewest(below),
  };
}

function nearest(bounds, inp, out, side) {
  if (!bounds.length) return { value: null, by: [] };
  const speeds = bounds.map(({ row }) => row[inp].over(row[out]).negated());
  const value = speeds.reduce((best, speed) => (speed.minus(best).sign * side > 0 ? speed : best));
  return { value, by: fewest(bounds.filter((_, k) => speeds[k].equals(value))) };
}

function fewest(bounds) {
  return bounds.map(({ by }) => by).reduce((best, by) => (best === null || comesFirst(by, best) ? by : best), null);
}

// Fewer names first, then in the order of the alphabet.
export function comesFirst(one, other) {
  if (one.length !== other.length) return one.length < other.length;
  const place = one.findIndex((name, k) => name !== other[k]);
  return place >= 0 && one[place] < other[place];
}
