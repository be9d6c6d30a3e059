// Whether the gears of one set go together, which counts close by do, and the six ratios; as the kernel has it.

import { Exact, ONE } from "./exact.js";
import { localized, say } from "./words.js";

export const MEMBERS = ["sun", "carrier", "ring"];
export const LIMITS = { sun: [12, 90], planet: [10, 60], ring: [30, 210], planets: [2, 8] };
const REACH = 8;
const SHOWN = 4;
const CARRIER_WORTH = 3;

// The sine of 180°/N is rational for these two; elsewhere the two sides are never equal.
function sine(planets) { return { 2: 1, 6: 0.5 }[planets] ?? Math.sin(Math.PI / planets); }

// Gap between the tips of neighbouring planets at equal spacing, in modules; below 0 they overlap.
export function tipGap({ pinions, sun, planet, ring, planets }) {
  if (pinions !== "double") return (sun + planet) * sine(planets) - (planet + 2);
  const { near, far, bend } = pairOf(sun, ring, planet);
  const turn = (2 * Math.PI) / planets;
  const apart = (one, other, angle) => Math.sqrt(one ** 2 + other ** 2 - 2 * one * other * Math.cos(angle));
  // Inner beside inner, outer beside outer, and the outer planet of one pair beside the inner one of the next.
  return Math.min(2 * near * sine(planets), 2 * far * sine(planets), apart(far, near, turn - bend)) - (planet + 2);
}

// Where the two equal planets of a pair sit: the inner on the sun, the outer in the ring, both in mesh.
export function pairOf(sun, ring, planet) {
  const [near, far] = [(sun + planet) / 2, (ring - planet) / 2];
  const cosine = (near ** 2 + far ** 2 - planet ** 2) / (2 * near * far);
  return { near, far, bend: Math.acos(Math.min(1, Math.max(-1, cosine))) };
}

// teeth: { pinions: "single" | "double", sun, planet, ring, planets } -> which conditions are met, in the order of checksOf
export function conditions(teeth) {
  const { pinions, sun, planet, ring, planets } = teeth;
  if (pinions !== "double") return [ring === sun + 2 * planet, (sun + ring) % planets === 0, planet + 2 < (sun + planet) * sine(planets)];
  const across = ring - sun;
  const reaches = 4 * planet >= across;
  return [reaches, 2 * planet < across - 4, across % planets === 0, reaches && tipGap(teeth) > 0];
}

export function goesTogether(teeth) { return conditions(teeth).every((met) => met); }

// -> the checks with their reasons, each named in a table and within a sentence: [{ name, within, met, words }]
export function checksOf(teeth) {
  const told = teeth.pinions === "double" ? doubleWords(teeth) : singleWords(teeth);
  return conditions(teeth).map((met, k) => ({ name: told[k][0], within: told[k][1], met, words: told[k][2] }));
}

function singleWords(teeth) {
  const { sun, planet, ring, planets } = teeth;
  const wanted = sun + 2 * planet;
  const off = ring === wanted ? say(", so sun, planets and ring meet on one axis") : `: ${ring > wanted ? say("{teeth} too many", { teeth: ring - wanted }) : say("{teeth} too few", { teeth: wanted - ring })}`;
  return [[say("Teeth meet"), say("teeth meet"), say("R = S + 2P = {sun} + 2 × {planet} = {wanted}; the ring has {ring}{off}.", { sun, planet, wanted, ring, off })],
    [say("Equal spacing"), say("equal spacing"), spacing("S + R", sun + ring, planets, say("planets"))],
    [say("Neighbours clear"), say("neighbours clear"), say("P + 2 = {tips} against (S + P) · sin(180°/{planets}) = {apart}: {gap_words}.", { tips: planet + 2, planets, apart: localized(((sun + planet) * sine(planets)).toFixed(2)), gap_words: gapWords(teeth) })]];
}

function doubleWords(teeth) {
  const { sun, planet, ring, planets } = teeth;
  const across = ring - sun;
  const [reaches, room] = conditions(teeth);
  return [[say("Pair reaches"), say("pair reaches"), say("4P = {planet} against R − S = {across}: the two planets of a pair {reaches} from sun to ring.", { planet: 4 * planet, across, reaches: reaches ? say("reach") : say("do not reach") })],
    [say("Pair has room"), say("pair has room"), say("2P = {planet} against R − S − 4 = {across}: {room}.", { planet: 2 * planet, across: across - 4, room: room ? say("neither planet touches both sun and ring") : say("a planet would touch sun and ring at once") })],
    [say("Equal spacing"), say("equal spacing"), spacing("R − S", across, planets, say("pairs"))],
    [say("Neighbours clear"), say("neighbours clear"), reaches ? say("Nearest planets of two pairs: {gap_words}.", { gap_words: gapWords(teeth) }) : say("This cannot be said while a pair does not reach.")]];
}

function gapWords(teeth) {
  const gap = tipGap(teeth);
  if (gap > 0) return say("{gap} modules between the tips", { gap: localized(gap.toFixed(2)) });
  return gap === 0 ? say("the tips touch") : say("the tips overlap by {gap} modules", { gap: localized((-gap).toFixed(2)) });
}

function spacing(sum, places, planets, what) {
  const start = `(${sum})/N = ${places}/${planets} = `.replace("/-", "/−");
  return places % planets === 0 ? say("{start}{places}, whole: the {what} fit at equal spacing.", { start, places: places / planets, what })
    : say("{start}{places}, not whole: the {what} do not fit at equal spacing; drawn in the nearest places that do.", { start, places: localized((places / planets).toFixed(2)), what });
}

// Counts that go together, nearest first.
export function nearest(teeth) {
  const fitting = [];
  const within = (name, value) => value >= LIMITS[name][0] && value <= LIMITS[name][1];
  const steps = Array.from({ length: 2 * REACH + 1 }, (_, k) => k - REACH);
  for (const sun of steps.map((step) => teeth.sun + step)) {
    for (const planet of steps.map((step) => teeth.planet + step)) {
      for (const ring of teeth.pinions === "double" ? steps.map((step) => teeth.ring + step) : [sun + 2 * planet]) {
        for (const planets of [teeth.planets - 1, teeth.planets, teeth.planets + 1]) {
          const other = { pinions: teeth.pinions, sun, planet, ring, planets };
          if (Object.keys(LIMITS).every((name) => within(name, other[name])) && goesTogether(other)) fitting.push({ ...other, far: farness(teeth, other) });
        }
      }
    }
  }
  fitting.sort((a, b) => a.far - b.far || a.planets - b.planets || a.sun - b.sun || a.planet - b.planet || a.ring - b.ring);
  return fitting.filter((other) => ["sun", "planet", "ring", "planets"].some((name) => other[name] !== teeth[name])).slice(0, SHOWN);
}

// Teeth changed in all; the ring of a single set only follows. Another number of planets asks for another carrier.
function farness(from, to) {
  return Math.abs(from.sun - to.sun) + Math.abs(from.planet - to.planet)
    + (from.pinions === "double" ? Math.abs(from.ring - to.ring) : 0) + CARRIER_WORTH * Math.abs(from.planets - to.planets);
}

// The six ways: one member held, one drives, one is driven. -> [{ held, drives, driven, ratio }]
export function sixWays({ pinions, sun, ring }) {
  const weight = { sun: BigInt(pinions === "double" ? -sun : sun), ring: BigInt(ring) };
  weight.carrier = -(weight.sun + weight.ring);
  return ["ring", "sun", "carrier"].flatMap((held) => {
    const [first, second] = MEMBERS.filter((member) => member !== held);
    // With one member still, each of the other two turns in proportion to the other's weight, in the opposite sense.
    const ratio = new Exact(-weight[second], weight[first]);
    return [{ held, drives: first, driven: second, ratio }, { held, drives: second, driven: first, ratio: ONE.over(ratio) }];
  });
}
