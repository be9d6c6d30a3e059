// What each range becomes when one element fails, and which failures would explain speed readings; as the kernel has it.

import { Exact, decimal, listed } from "./exact.js";
import { COAST, DRIVE, noteOf, working } from "./one_way.js";
import { INPUT_LOCKED, MEANS, NEUTRAL, OUTPUT_LOCKED, OUTPUT_STANDS, RANGE, TIE_UP } from "./verdicts.js";
import { later, localized, say } from "./words.js";

export const STUCK_OFF = "stuck off";
export const STUCK_ON = "stuck on";
export const SLIPS = "slips";
export const REVERSED = "fitted the wrong way round";

export function modesOf(element) {
  return element.holds ? [STUCK_OFF, STUCK_ON, REVERSED] : [STUCK_OFF, STUCK_ON];
}

export function faultName({ element, mode }) { return say("{element} {mode}", { element, mode }); }

// The faults of a suspect in words: an element that is let go, yet still drives the output behind its ratio, slips.
export function suspectName({ faults, slips }) {
  return faults.map(({ element, mode }) => faultName({ element, mode: slips && mode === STUCK_OFF ? SLIPS : mode })).join(` ${say("and")} `);
}

// What a commanded range does with faulty elements. faults: [{ element, mode }]
export function withFaults(memory, range, faults, drive = DRIVE) {
  const clutches = new Map(memory.clutches);
  const applied = new Set(range.engaged);
  for (const { element, mode } of faults) {
    if (mode === REVERSED) { clutches.set(element, -clutches.get(element)); continue; }
    if (mode === STUCK_ON) applied.add(element); else applied.delete(element);
    clutches.delete(element);
  }
  return working(memory, applied, drive, clutches);
}

// One row of the table: { range, sound, faulty, effect, actual, brakingLost, note }; note: what one-way clutches make of the
// sound range.
export function faultCase(memory, range, fault) {
  const sound = withFaults(memory, range, []);
  const faulty = withFaults(memory, range, [fault]);
  const effect = effectOf(sound, faulty);
  let actual = memory.runsAs(faulty);
  if (effect === "same") actual = sound.ratio === null ? null : range.name;
  const brakes = (faults) => memory.clutches.size > 0 && withFaults(memory, range, faults, COAST).verdict === RANGE;
  const brakingLost = effect === "same" && brakes([]) && !brakes([fault]);
  return { range: range.name, sound, faulty, effect, actual, brakingLost, note: noteOf(memory, sound) };
}

function same(first, second) {
  return first === null || second === null ? first === second : first.equals(second);
}

function effectOf(sound, faulty) {
  if (sound.verdict === faulty.verdict && same(sound.ratio, faulty.ratio)) return "same";
  return faulty.verdict === RANGE ? "other range" : faulty.verdict;
}

const SYMPTOMS = {
  [NEUTRAL]: later("no drive: the engine speeds up and the vehicle does not pull"),
  [TIE_UP]: later("binds: the engine is pulled down or stalls, or an element slips and burns"),
  [INPUT_LOCKED]: later("binds: the engine is pulled down or stalls while the vehicle can still roll"),
  [OUTPUT_LOCKED]: later("the vehicle is held as by a brake while the engine runs free"),
};

// What the driver or the technician notices.
export function symptom(each) {
  if (rolls(each)) return say("does not hold: the vehicle may roll; not safe");
  if (each.effect === "same" && each.note) return say("{verdict} with or without the fault: {note}", { verdict: each.sound.verdict, note: each.note });
  if (each.effect === "same") return say("as it should{each}", { each: each.brakingLost ? say(" in drive, but does not brake the engine") : "" });
  if (each.effect !== "other range") return say(SYMPTOMS[each.effect] || MEANS[each.effect]);
  const [ratio, wanted] = [each.faulty.ratio, each.sound.ratio];
  const runs = each.actual ? say("runs as in {actual}", { actual: each.actual }) : say("runs at {found}, no range's ratio", { found: localized(ratio.toNumber().toFixed(3)) });
  if (wanted === null && each.note) {
    return say("drives {found}, {verdict} without the fault: {runs}; not safe", { found: ratio.sign > 0 ? "forward" : "backward", verdict: each.sound.verdict, runs });
  }
  if (wanted === null) return say("{found} although in {range}: {runs}; not safe", { found: ratio.sign > 0 ? say("creeps forward") : say("creeps backward"), range: each.range, runs });
  if (ratio.sign !== wanted.sign) return say("drives the wrong way: {runs}; not safe", { runs });
  const faster = size(ratio).minus(size(wanted)).sign > 0;
  return faster ? say("engine speed too high for the road speed: {runs}", { runs }) : say("sluggish, engine speed too low for the road speed: {runs}", { runs });
}

export function unsafe(each) {
  const [ratio, wanted] = [each.faulty.ratio, each.sound.ratio];
  return rolls(each) || (ratio !== null && (wanted === null || ratio.sign !== wanted.sign));
}

// The range should hold the output, as park does, and does not.
function rolls(each) {
  return OUTPUT_STANDS.includes(each.sound.verdict) && [NEUTRAL, INPUT_LOCKED].includes(each.effect);
}

function size(value) { return value.sign < 0 ? value.negated() : value; }

const [TOLERANCE, ONE] = [new Exact(2n, 100n), new Exact(1n, 1n)];
const [EXACT, STOPPED, GIVES_WAY, LOOSE, AS_ASKED] = [4, 4, 3, 2, 1];

// readings: [{ range (its name), input, output }] with exact speeds -> { sound, suspects: [{ faults, evidence, slips }] } in order
export function diagnose(memory, readings) {
  const judge = new Judge(memory);
  const suspect = (faults) => {
    const evidence = readings.map((item) => judge.evidence(item, faults));
    return { faults, evidence, slips: judge.slips(faults, readings), refuted: evidence.filter((item) => !item.supports).length,
      support: evidence.reduce((sum, item) => sum + (item.supports ? item.strength : 0), 0) };
  };
  const singles = memory.train.elements.flatMap((element) => modesOf(element).map((mode) => suspect([{ element: element.name, mode }])));
  const pairs = pairsOf(memory).map(suspect).filter((pair) => pair.refuted === 0 && saysMore(pair, singles));
  // A suspect that is refuted, and otherwise only fits where a sound range fits too, has nothing for it.
  const suspects = [...singles, ...pairs].filter(({ support, refuted }) => support
    && (!refuted || support > AS_ASKED * readings.length - refuted));
  const rank = ({ refuted, faults, support }) => [refuted, faults.length - 1 - support, faults.length];
  const order = suspects.map((each, place) => [...rank(each), place, each]);
  order.sort((a, b) => a[0] - b[0] || a[1] - b[1] || a[2] - b[2] || a[3] - b[3]);
  return { sound: readings.every((item) => judge.evidence(item, []).supports), suspects: order.map((entry) => entry[4]) };
}

// One element that stays on and one that stays off, as when a shift is not made.
function pairsOf(memory) {
  const names = memory.train.elements.map((element) => element.name).filter((name) => !memory.clutches.has(name));
  return names.flatMap((on) => names.filter((off) => off !== on)
    .map((off) => [{ element: on, mode: STUCK_ON }, { element: off, mode: STUCK_OFF }]));
}

function saysMore(pair, singles) {
  const inPair = ({ element, mode }) => pair.faults.some((fault) => fault.element === element && fault.mode === mode);
  return singles.filter((single) => inPair(single.faults[0]) && single.refuted === 0).every((single) => pair.support > single.support);
}

class Judge {
  constructor(memory) { this.memory = memory; }

  state(name, faults) {
    return withFaults(this.memory, this.memory.train.ranges.find((range) => range.name === name), faults);
  }

  near(value, wanted) { return TOLERANCE.times(size(wanted)).minus(size(value.minus(wanted))).sign >= 0; }

  ratioOf({ input, output }) { return input.isZero || output.isZero ? null : input.over(output); }

  // A single element that is said to be stuck off slips instead, in every reading that needs it.
  slips(faults, readings) {
    if (faults.length !== 1 || faults[0].mode !== STUCK_OFF) return false;
    const needed = readings.filter(({ range }) => this.state(range, faults).verdict === NEUTRAL && this.state(range, []).ratio !== null);
    return needed.length > 0 && needed.every((item) => this.drivenWithSlip(item));
  }

  // A ratio of another range is no slip but that range. At a slip of 1 the output stands; above it the output turns against
  // the range, which friction cannot do.
  drivenWithSlip(item) {
    if (item.input.isZero) return false;
    const slip = item.input.minus(this.state(item.range, []).ratio.times(item.output)).over(item.input);
    const ratio = this.ratioOf(item);
    const ratios = this.memory.train.ranges.map((range) => this.state(range.name, []).ratio).filter((other) => other !== null);
    return slip.minus(TOLERANCE).sign > 0 && slip.minus(ONE).sign < 0 && !(ratio !== null && ratios.some((other) => this.near(ratio, other)));
  }

  evidence(reading, faults) {
    const item = { ...reading, ratio: this.ratioOf(reading) };
    const state = this.state(item.range, faults);
    const told = (supports, strength, words) => ({ reading: item, supports, strength, words });
    if (state.verdict === RANGE) return this.ofRange(item, state, told);
    if (state.verdict === NEUTRAL) return this.ofNeutral(item, told);
    return this.ofLocked(item, state, faults, told);
  }

  ofRange(item, state, told) {
    const name = this.memory.nameOf(state.ratio);
    const expected = name ? say("the ratio of {name}, {ratio}", { name, ratio: decimal(state.ratio) }) : say("a ratio of {ratio}", { ratio: decimal(state.ratio) });
    if (item.ratio === null || !this.near(item.ratio, state.ratio)) return told(false, 0, say("it would run at {expected}, but {seen}", { expected, seen: seen(item) }));
    const asked = this.state(item.range, []);
    return told(true, same(asked.ratio, state.ratio) ? AS_ASKED : EXACT, say("runs at {expected}", { expected }));
  }

  ofNeutral(item, told) {
    const asked = this.state(item.range, []);
    if (item.input.isZero && item.output.isZero) return told(false, 0, say("it would turn freely, but nothing turns"));
    if (item.ratio !== null && asked.ratio !== null && this.near(item.ratio, asked.ratio)) {
      return told(false, 0, say("input and output would be independent, not at {ratio}", { ratio: decimal(asked.ratio) }));
    }
    if (asked.verdict === NEUTRAL) return told(true, AS_ASKED, say("input and output are independent, as asked"));
    return told(true, item.output.isZero ? STOPPED : LOOSE, say("input and output are independent: {seen}", { seen: seen(item) }));
  }

  ofLocked(item, { verdict, engaged }, faults, told) {
    if (item.input.isZero && item.output.isZero) return told(true, STOPPED, say("{verdict}: nothing turns", { verdict }));
    if (verdict === OUTPUT_LOCKED && item.output.isZero) return told(true, STOPPED, say("{verdict}: the output stands", { verdict }));
    if (verdict === INPUT_LOCKED && item.input.isZero) return told(true, STOPPED, say("{verdict}: the input stands", { verdict }));
    const fixed = faults.filter(({ mode }) => mode !== STUCK_OFF).map(({ element }) => element);
    for (const weak of engaged.filter((name) => !fixed.includes(name))) {
      const rest = engaged.filter((name) => name !== weak);
      const left = this.memory.assess(rest);
      if (left.ratio !== null && item.ratio !== null && this.near(item.ratio, left.ratio)) {
        return told(true, GIVES_WAY, say("{verdict}, but {weak} gives way: {rest} give {ratio}", { verdict, weak, rest: listed(rest), ratio: decimal(left.ratio) }));
      }
    }
    if (item.output.isZero) return told(true, LOOSE, say("{verdict}: the output is held, an element slips at the input", { verdict }));
    return told(false, 0, say("{verdict}: it could not turn, but {seen}", { verdict, seen: seen(item) }));
  }
}

function seen(item) {
  if (item.ratio !== null) return say("the reading gives {ratio}", { ratio: decimal(item.ratio) });
  if (!item.input.isZero) return say("the output stands");
  return item.output.isZero ? say("nothing turns") : say("the input stands");
}
