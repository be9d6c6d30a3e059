// The learner's record in the browser: the same text as the file my_record.json beside the lessons, added to and never lost.

import { later, say, sayN } from "./words.js";

export const KEY = "gearkit/my_record.json";
const FORMAT = 1;
const MONTHS = [
  later("January"), later("February"), later("March"), later("April"), later("May"), later("June"),
  later("July"), later("August"), later("September"), later("October"), later("November"), later("December"),
];

export class KeptRecord {
  // shelf: localStorage, or null where the browser keeps nothing; then the record lasts as long as the page
  constructor(shelf, clock = () => new Date()) {
    this.shelf = shelf;
    this.clock = clock;
    this.notice = "";
    this.held = null;
    this.lasts = Boolean(shelf);
  }

  get text() {
    if (!this.shelf) return this.held;
    try { return this.shelf.getItem(KEY); } catch { return this.held; }
  }

  set text(text) {
    this.held = text;
    this.lasts = false;
    if (!this.shelf) return;
    try { this.shelf.setItem(KEY, text); this.lasts = true; } catch { /* full or forbidden: `lasts` says so */ }
  }

  // The learner's numbers come from the record's seed, so that it is there from the first visit on.
  begin() {
    if (!this.text) this.text = textOf({ seed: freshSeed(), events: [] });
    return this.read();
  }

  read() {
    const text = this.text;
    if (!text) return { seed: freshSeed(), events: [] };
    const kept = contents(text);
    if (kept) return kept;
    const saved = { seed: readableSeed(text) || freshSeed(), events: readableEvents(text) };
    this.setAside(text, saved.events.length);
    this.text = textOf(saved);
    return saved;
  }

  setAside(text, count) {
    const name = `${KEY}.damaged-${this.clock().toISOString().replace(/\W/g, "").slice(0, 14)}`;
    try { if (this.shelf) this.shelf.setItem(name, text); } catch { /* no room: the readable part is kept all the same */ }
    this.notice = sayN("Your record was damaged. It was set aside, unchanged, and {count} entry that could still be read was taken over. Nothing was deleted; tell your instructor if work seems to be missing.", "Your record was damaged. It was set aside, unchanged, and {count} entries that could still be read were taken over. Nothing was deleted; tell your instructor if work seems to be missing.", count);
  }

  add(kind, facts) {
    const kept = this.read();
    const event = { at: this.clock().toISOString().replace("Z", "+00:00"), kind, ...facts };
    this.text = textOf({ ...kept, events: [...kept.events, event] });
    return event;
  }

  // Another record joins this one: a file that somebody brought, or what Python wrote; no event is lost, none comes twice.
  join(text) {
    const other = contents(text);
    if (!other) return null;
    const kept = this.text ? this.read() : null;
    if (!kept || kept.events.length === 0) { this.text = textOf(other); return other.events.length; }
    const known = new Set(kept.events.map((event) => JSON.stringify(event)));
    const news = other.events.filter((event) => !known.has(JSON.stringify(event)));
    const events = [...kept.events, ...news].sort((one, two) => (one.at < two.at ? -1 : one.at > two.at ? 1 : 0));
    this.text = textOf({ ...kept, events });
    return news.length;
  }

  // How many events another record lacks.
  lackedBy(text) {
    const known = new Set(((contents(text) || {}).events || []).map((event) => JSON.stringify(event)));
    return this.read().events.filter((event) => !known.has(JSON.stringify(event))).length;
  }

  // In the words of the notebook: what was said, and what was found where Python saw it.
  history(lesson, about) {
    const kept = this.read().events;
    const foundAt = new Map(kept.filter((event) => event.kind === "reveal").map((event) => [event.prediction, event.found]));
    const made = kept.filter((event) => event.kind === "prediction" && event.lesson === lesson && event.panel === about);
    return made.map(({ at, case: name, said, prediction }) => {
      const shown = foundAt.get(prediction);
      const text = say("{day}: {get}: you said {said}", { day: dayOf(at), get: name, said: pair(said) });
      return shown ? say("{text}; found {pair}", { text, pair: pair(shown) }) : text;
    });
  }
}

function pair({ kind, typed, figure }) {
  return `${say(kind)}${typed || figure ? `, ${typed || figure}` : ""}`.replace(/(^|[^\p{L}\p{N}_])-(?=\d)/gu, "$1\u2212");
}

function contents(text) {
  try {
    const { seed, events, format, ...extra } = JSON.parse(text);
    const sound = Array.isArray(events) && events.every((event) => event && typeof event === "object" && !Array.isArray(event));
    return sound ? { seed: String(seed ?? freshSeed()), events, extra } : null;
  } catch { return null; }
}

// One event on a line, as Python writes it, so that a damaged file can be read line by line.
export function textOf({ seed, events, extra = {} }) {
  const head = JSON.stringify({ format: FORMAT, seed, ...extra }).slice(0, -1);
  return `${head}, "events": [\n${events.map((event) => JSON.stringify(event)).join(",\n")}\n]}\n`;
}

function readableEvents(text) {
  return text.split("\n").flatMap((line) => {
    try {
      const entry = JSON.parse(line.trim().replace(/,$/, ""));
      return entry && typeof entry === "object" && "kind" in entry && "at" in entry ? [entry] : [];
    } catch { return []; }
  });
}

function readableSeed(text) {
  const match = /"seed": ?"([0-9A-Za-z]+)"/.exec(text);
  return match ? match[1] : "";
}

function freshSeed() {
  return [...crypto.getRandomValues(new Uint8Array(8))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function dayOf(stamp) {
  const moment = new Date(stamp);
  if (Number.isNaN(moment.getTime())) return say("once");
  const two = (number) => String(number).padStart(2, "0");
  const day = say("{day} {month}", { day: moment.getDate(), month: say(MONTHS[moment.getMonth()]) });
  return `${day}, ${two(moment.getHours())}:${two(moment.getMinutes())}`;
}

// What a browser keeps between visits, or null where it keeps nothing.
export function shelf() {
  try { return window.localStorage; } catch { return null; }
}
