// What a combination of applied elements does, in words; used by the layout panel and by its test.

import { listed } from "./exact.js";
import { ratioWords } from "./one_set_cases.js";
import { MEANS, RANGE, TIE_UP } from "./verdicts.js";
import { say } from "./words.js";

export function combinationKey(train, engaged) {
  return train.elements.filter((element) => engaged.has(element.name)).map((element) => element.name).join(" ");
}

export function rangeOf(train, key) {
  return train.ranges.filter((item) => combinationKey(train, new Set(item.engaged)) === key).map((item) => item.name);
}

// The kind that a prediction is compared with: the output's direction in a range, else the state.
export function kindOf(outcome) {
  if (outcome.verdict !== RANGE) return outcome.verdict;
  return outcome.ratio.sign < 0 ? "reverse" : "forward";
}

// The name under which a prediction is kept: English in every language, and as the kernel names it.
export function caseOf(key) {
  return `${key ? key.split(" ").join(" and ") : "nothing"} applied`;
}

// What is applied, in words; "Nothing applied" where nothing is.
export function appliedWords(key) {
  return key ? say("{elements} applied", { elements: listed(key.split(" ")) }) : say("Nothing applied");
}

export function stateWords(train, key, outcome) {
  const names = rangeOf(train, key);
  const ranges = listed(names.map((name) => say("range {name}", { name })));
  const inChart = names.length ? ` ${say("This is {ranges} of the chart.", { ranges })}` : "";
  const twice = outcome.redundant && outcome.verdict !== TIE_UP ? ` ${say("The elements are more than is needed, and do not contradict each other.")}` : "";
  const clutches = outcome.note ? `; ${outcome.note}` : "";
  if (outcome.verdict !== RANGE) return `${say(outcome.verdict)}: ${say(MEANS[outcome.verdict])}${clutches}.${twice}${inChart}`;
  const told = { direction: say(outcome.ratio.sign < 0 ? "reverse" : "forward"), ratio: ratioWords(outcome.ratio) };
  return `${say("a range, {direction}, {ratio}", told)}${clutches}.${twice}${inChart || ` ${say("The chart does not use it.")}`}`;
}
