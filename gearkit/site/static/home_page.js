// The list of lessons: how far the learner is in each and what is due again, from the record in this browser.

import { setText } from "./dom.js";
import { say, sayN } from "./words.js";

// Days for which one right answer is trusted; what was kept over a longer time is trusted for as long again.
const FIRST_DAYS = 7;
const DAY = 86_400_000;

export function showDone(record, now = new Date()) {
  const { events } = record.read();
  const today = dayOf(now);
  let due = 0;
  for (const place of document.querySelectorAll("[data-items]")) {
    const items = place.dataset.items.split(" ").filter(Boolean);
    const states = items.map((item) => stateOf(events.filter((event) => event.kind === "attempt" && event.item === item), today));
    const done = states.filter(Boolean).length;
    const again = states.filter((state) => state === "due again").length;
    const predicted = events.filter((event) => event.kind === "prediction" && event.lesson === place.dataset.lesson).length;
    if (done || predicted) setText(place, `· ${howFar({ done, all: items.length, again, predictions: sayN("{count} prediction", "{count} predictions", predicted) })}`);
    due += again;
  }
  if (due) setText(document.getElementById("gk-due"), sayN("Due again: {count} exercise. Each lesson opens with three of them.", "Due again: {count} exercises. Each lesson opens with three of them.", due));
}

function howFar(counts) {
  return counts.again
    ? say("{done} of {all} exercises done, {again} due again, {predictions}", counts)
    : say("{done} of {all} exercises done, {predictions}", counts);
}

// How an exercise stands once it was right without a hint, as the notebooks say it: "done", "kept" or "due again"; "" before.
export function stateOf(attempts, today) {
  const { days, missed } = rightDays(attempts);
  if (!days.length) return "";
  const last = days.at(-1);
  if (missed || Math.max(0, today - last) > Math.max(FIRST_DAYS, last - days[0])) return "due again";
  return days.length > 1 ? "kept" : "done";
}

// The first day may have taken several tries; after it only a first try with new numbers tells anything.
function rightDays(attempts) {
  const days = [];
  const seen = new Set();
  let missed = false;
  for (const event of attempts) {
    const day = dayOf(new Date(event.at));
    if (Number.isNaN(day) || event.verdict === "unreadable") continue;
    const draw = String(event.draw);
    const first = !seen.has(draw);
    seen.add(draw);
    const right = event.verdict === "right" && !event.hints;
    if (right && (!days.length || (first && day > days.at(-1)))) { days.push(day); missed = false; }
    else if (days.length && first && day >= days.at(-1) && !right) missed = true;
    else if (right && first) missed = false;
  }
  return { days, missed };
}

// The learner's own day, as a number that grows by one a day.
export function dayOf(moment) { return Math.round(Date.UTC(moment.getFullYear(), moment.getMonth(), moment.getDate()) / DAY); }
