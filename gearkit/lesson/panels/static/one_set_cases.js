// What one set can do, in the trade's words: from the roles of its members to speeds, ratio and the name of the case.

import { Exact, ONE, ZERO, exactOf, shown, shownExact } from "./exact.js";
import { planetSpeed, thirdSpeed } from "./train.js";
import { NEUTRAL, RANGE, TIE_UP } from "./verdicts.js";
import { later, localized, say } from "./words.js";

export const MEMBERS = ["sun", "carrier", "ring"];
export const JOINS = [["none", later("none")], ["sun carrier", later("sun and carrier")], ["carrier ring", later("carrier and ring")], ["sun ring", later("sun and ring")]];
export const DIRECTIONS = [later("forward"), later("stopped"), later("reverse")];
export const CASE_WORDS = [later("forward reduction"), later("forward overdrive"), later("direct"), later("reverse reduction"), later("reverse overdrive"), NEUTRAL, TIE_UP];

export function thirdMember(first, second) {
  return MEMBERS.find((member) => member !== first && member !== second);
}

// A member has one role at a time: the one that gives way takes the role that became free.
export function withRole(roles, role, member) {
  const next = { ...roles };
  const loser = ["drive", "hold", "driven"].find((other) => other !== role && roles[other] === member);
  if (loser) next[loser] = roles[role] === "none" ? thirdMember(member, roles[loser === "drive" ? "driven" : "drive"]) : roles[role];
  next[role] = member;
  if (next.hold !== "none") next.driven = thirdMember(next.drive, next.hold);
  return next;
}

// Speeds as multiples of the input's: { verdict, speeds: {sun, carrier, ring}, ratio }; null marks a free member.
export function heldCase(weights, { drive, hold, driven, joined }) {
  if (joined !== "none" && hold !== "none") {
    return { verdict: TIE_UP, speeds: { sun: ZERO, carrier: ZERO, ring: ZERO }, ratio: null };
  }
  if (joined !== "none") return { verdict: RANGE, speeds: { sun: ONE, carrier: ONE, ring: ONE }, ratio: ONE };
  const speeds = { sun: null, carrier: null, ring: null };
  speeds[drive] = ONE;
  if (hold === "none") return { verdict: NEUTRAL, speeds, ratio: null };
  speeds[hold] = ZERO;
  speeds[driven] = thirdSpeed(weights, speeds);
  return { verdict: RANGE, speeds, ratio: ONE.over(speeds[driven]) };
}

export function caseWord({ verdict, ratio }) {
  if (verdict !== RANGE) return verdict;
  if (ratio.equals(ONE)) return "direct";
  const size = ratio.sign < 0 ? ratio.negated() : ratio;
  return `${ratio.sign < 0 ? "reverse" : "forward"} ${size.minus(ONE).sign > 0 ? "reduction" : "overdrive"}`;
}

// Two speeds are given in r/min, the third follows.
export function givenSpeeds(weights, { drive, given, inputSpeed, secondSpeed }) {
  const speeds = { sun: null, carrier: null, ring: null };
  speeds[drive] = Exact.of(inputSpeed);
  speeds[given] = Exact.of(secondSpeed);
  const third = thirdMember(drive, given);
  speeds[third] = thirdSpeed(weights, speeds);
  return { verdict: "speeds", speeds, third, ratio: null };
}

export function pinionSpeed(sunTeeth, planetTeeth, speeds) {
  if (speeds.sun === null || speeds.carrier === null) return null;
  return planetSpeed(sunTeeth, planetTeeth, speeds.sun, speeds.carrier);
}

export function directionWord(speed) {
  if (speed === null) return "free";
  return ["reverse", "stopped", "forward"][Math.sign(speed instanceof Exact ? speed.sign : speed) + 1];
}

export function ratioWords(ratio) {
  return say("ratio {ratio}", { ratio: ratioText(ratio) });
}

export function ratioText(ratio) {
  const exact = shownExact(ratio);
  return ratio.d === 1n ? exact : `${exact} = ${shown(ratio)}`;
}

// How far a guess is from what was found, without praise or blame.
export function comparison(guess, truth) {
  if (guess.equals(truth)) return say("exactly what you said");
  const told = { guess: shown(guess) };
  if (truth.isZero) return say("you said {guess}", told);
  const off = guess.minus(truth).over(truth).toNumber() * 100;
  const size = Math.abs(off) < 0.05 ? say("by less than 0.1 %") : say("by {percent} %", { percent: localized(Math.abs(off).toFixed(Math.abs(off) < 10 ? 1 : 0)) });
  if (guess.sign !== truth.sign) return say("you said {guess}, with the other sign", told);
  return off > 0 ? say("you said {guess}, larger {size}", { ...told, size }) : say("you said {guess}, smaller {size}", { ...told, size });
}

// The prediction beside what was found. truth: the kind that is so; value: its number; figure: how it is written.
export function beside(said, truth, value, figure) {
  const sentence = say("Found: {truth}.", { truth: `${say(truth)}${value ? `, ${figure}` : ""}` });
  if (!said) return sentence;
  const guess = said.figure ? exactOf(said.figure) : null;
  const told = [say("You predicted: {guess}.", { guess: `${say(said.kind)}${said.figure ? `, ${said.typed || said.figure}` : ""}` }), sentence];
  if (said.kind === truth) told.push(say("The kind agrees."));
  if (guess && value) told.push(say("On the figure: {comparison}.", { comparison: comparison(guess, value) }));
  return told.join(" ");
}
