// Gears in a row, each driving the next: how far each turns and where it stands, as the kernel has it. Lengths in modules.

import { Exact, ONE } from "./exact.js";

export const ROOM_IN_RING = 8;

// Turns of each gear for one turn of the first. An external mesh reverses, an internal one does not.
export function turnsOf(teeth, internal) {
  const turns = [ONE];
  for (let k = 1; k < teeth.length; k += 1) {
    const size = turns[k - 1].times(new Exact(BigInt(teeth[k - 1]), BigInt(teeth[k])));
    turns.push(internal && k === teeth.length - 1 ? size : size.negated());
  }
  return turns;
}

// Where each gear's centre is, and the angle of one of its teeth (a ring: of a tooth space).
export function placesOfRow(teeth, internal) {
  const places = [[0, 0]];
  for (let k = 1; k < teeth.length; k += 1) {
    const [centre, angle] = places[k - 1];
    const [first, second] = [teeth[k - 1], teeth[k]];
    if (internal && k === teeth.length - 1) places.push([centre - (second - first) / 2, (first / second) * angle]);
    else places.push([centre + (first + second) / 2, Math.PI - (first / second) * angle - Math.PI / second]);
  }
  return places;
}
