// The list of lessons: how far the learner is in each, from the record in this browser.

import { setText } from "./dom.js";

export function showDone(record) {
  const { events } = record.read();
  for (const place of document.querySelectorAll("[data-items]")) {
    const items = place.dataset.items.split(" ").filter(Boolean);
    const done = items.filter((item) => events.some((event) => event.kind === "attempt" && event.item === item && event.verdict === "right")).length;
    const predicted = events.filter((event) => event.kind === "prediction" && event.lesson === place.dataset.lesson).length;
    if (done || predicted) setText(place, `· ${done} of ${items.length} exercises done, ${predicted} predictions`);
  }
}
