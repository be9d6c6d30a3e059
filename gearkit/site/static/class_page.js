// The page for the projector: three steps for each range. What was counted stays while the page is open, and in this tab
// when it is loaded again; it goes nowhere else.

import { later, say, sayN } from "./words.js";

export function openPage() {
  const data = JSON.parse(document.getElementById("gk-stored").textContent);
  const page = document.getElementById("page");
  const STEPS = [later("Look"), later("Guess"), later("See")];
  const kept = `gearkit class page: ${data.title}`;
  let counts = {};
  try { counts = JSON.parse(sessionStorage.getItem(kept)) || {}; } catch { counts = {}; }
  let place = 0;
  let step = 0;

  const make = (tag, attributes, ...children) => {
    const node = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
      if (name === "click") node.addEventListener("click", value);
      else if (value !== null) node.setAttribute(name, value);
    }
    node.append(...children);
    return node;
  };
  const image = ({ address, words }) => make("img", { src: address, alt: words });
  const hands = (count) => sayN("{count} hand", "{count} hands", count);
  const countOf = (range, guess) => Math.max(0, Math.floor(Number((counts[range] || {})[guess]) || 0));
  const go = (nextPlace, nextStep) => {
    place = (nextPlace + data.questions.length) % data.questions.length;
    step = Math.min(2, Math.max(0, nextStep));
    show();
    page.querySelector(".main").focus();
  };

  // Which elements each range applies, without its ratio: that is what is to be guessed.
  function chart() {
    const head = make("tr", {}, make("th", { scope: "col" }, say("Range")), ...data.elements.map((name) => make("th", { scope: "col" }, name)));
    const rows = data.questions.map(({ range, engaged }, k) => make("tr", k === place ? { class: "now" } : {},
      make("th", { scope: "row" }, `${k === place ? "▶ " : ""}${range}`),
      ...data.elements.map((name) => {
        const on = engaged.includes(name);
        return make("td", on ? { "aria-label": say("applied") } : {}, on ? "●" : "");
      })));
    return make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows));
  }

  function guesses(question, open) {
    const total = data.guesses.reduce((sum, guess) => sum + countOf(question.range, guess), 0);
    return data.guesses.map((guess, k) => {
      const count = countOf(question.range, guess);
      const share = total ? Math.round((100 * count) / total) : 0;
      const right = open && guess === question.right;
      const bar = make("i", { style: `width:${share}%` });
      const words = `${right ? "✓ " : ""}${guess}${open && total ? `: ${share}\u00a0%` : ""}`;
      const box = make("input", { type: "number", min: "0", max: "999", id: `count-${k}`, value: String(count), inputmode: "numeric" });
      if (open) box.disabled = true;
      box.addEventListener("input", () => {
        counts[question.range] = { ...counts[question.range], [guess]: box.value };
        try { sessionStorage.setItem(kept, JSON.stringify(counts)); } catch { /* Without storage they stay while the page is open. */ }
        redraw(question);
      });
      return make("div", { class: right ? "guess right" : "guess" }, make("label", { for: `count-${k}` }, words), box,
        make("div", { class: "bar" }, bar));
    });
  }

  // While hands are typed in, only the bars follow, so that the box keeps the caret.
  function redraw(question) {
    const total = data.guesses.reduce((sum, guess) => sum + countOf(question.range, guess), 0);
    page.querySelectorAll(".guess .bar > i").forEach((bar, k) => {
      bar.style.width = `${total ? Math.round((100 * countOf(question.range, data.guesses[k])) / total) : 0}%`;
    });
    page.querySelector(".total").textContent = hands(total);
  }

  // What the picture does not say itself; it has no letters but names.
  function below(question) {
    const lines = [step === 2 ? question.key : "", data.note].filter(Boolean);
    return lines.map((line) => make("p", {}, line));
  }

  function side(question) {
    if (step === 0) {
      return [make("p", { class: "ask" }, question.look),
        make("p", {}, say("Which shafts are held, which are joined? Follow the way from the input to the output.")), chart()];
    }
    const total = data.guesses.reduce((sum, guess) => sum + countOf(question.range, guess), 0);
    const asked = make("p", { class: "ask" }, `${question.look} ${say("How does the output turn? Hands up!")}`);
    if (step === 1) return [asked, ...guesses(question, false), make("p", { class: "total", role: "status" }, hands(total))];
    const story = make("details", { class: "story" }, make("summary", {}, say("Why?")));
    const steps = make("div", {});
    steps.innerHTML = question.story;
    story.append(steps);
    const right = countOf(question.range, question.right);
    const told = total ? ` ${say("{right} of {total} said so.", { right, total })}` : "";
    return [make("p", { class: "found", role: "status" }, `${question.right}. ${question.found}${told}`), story, ...guesses(question, true)];
  }

  function show() {
    const question = data.questions[place];
    const ranges = data.questions.map(({ range }, k) => make("button", { type: "button", "aria-current": String(k === place), click: () => go(k, 0) }, range));
    const steps = STEPS.map((word, k) => make("button", { type: "button", "aria-current": k === step ? "true" : null, click: () => go(place, k) }, `${k + 1} ${say(word)}`));
    const next = step < 2 ? [say("Next step"), () => go(place, step + 1)] : [say("Next range"), () => go(place + 1, 0)];
    page.replaceChildren(
      make("h1", {}, data.title),
      make("div", { class: "steps" }, make("nav", { "aria-label": say("Ranges") }, say("Range"), ...ranges),
        make("div", { class: "steps", role: "group", "aria-label": say("Steps") }, ...steps, make("button", { type: "button", class: "main", click: next[1] }, next[0]))),
      make("div", { class: "two" }, make("div", { class: "picture" }, image(step === 2 ? question.picture : data.look), ...below(question)), make("div", {}, ...side(question))),
    );
  }

  show();
}
