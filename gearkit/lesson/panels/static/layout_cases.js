// What a combination of applied elements does, in words; used by the layout panel and by its test.

import { ratioWords } from "./one_set_cases.js";
import { MEANS, RANGE, TIE_UP } from "./verdicts.js";

export function combinationKey(train, engaged) {
  return train.elements.filter((element) => engaged.has(element.name)).map((element) => element.name).join(" ");
}

export function rangeOf(train, key) {
  return train.ranges.filter((item) => combinationKey(train, new Set(item.engaged)) === key).map((item) => item.name);
}

// The kind that a prediction is compared with: the output's direction in a range, else the state.
export function kindOf(found) {
  if (found.verdict !== RANGE) return found.verdict;
  return found.ratio.sign < 0 ? "reverse" : "forward";
}

export function stateWords(train, key, found) {
  const names = rangeOf(train, key);
  const listed = names.length ? ` This is ${names.map((name) => `range ${name}`).join(" and ")} of the chart.` : "";
  const twice = found.redundant && found.verdict !== TIE_UP ? " The elements are more than is needed, and do not contradict each other." : "";
  const clutches = found.note ? `; ${found.note}` : "";
  if (found.verdict !== RANGE) return `${found.verdict}: ${MEANS[found.verdict]}${clutches}.${twice}${listed}`;
  const direction = found.ratio.sign < 0 ? "reverse" : "forward";
  return `a range, ${direction}, ${ratioWords(found.ratio)}${clutches}.${twice}${listed || " The chart does not use it."}`;
}
