// The hand crank: turns the drawing by itself, or step by step with a slider, and says how far the reference has turned.
// Where the page asks for little motion nothing moves until somebody moves it.

import { button, sliderWithBox } from "./controls.js";
import { html, wantsStillness } from "./dom.js";
import { say } from "./words.js";

const LONGEST = 20;
const TURNS_PER_SECOND = 0.22;
const STILL_STEP = 0.125;

export class Crank {
  // onTurn(turns): called with the turns of the reference, at most once a frame.
  constructor(prefix, onTurn) {
    this.onTurn = onTurn;
    this.turns = 0;
    this.pace = 1;
    this.running = false;
    this.frame = 0;
    this.press = button(say("Turn"), () => this.pressed(), "gk-crank-button");
    this.home = button(say("Back to the marks"), () => { this.setRunning(false); this.moveTo(0); });
    this.slider = sliderWithBox(
      { id: `${prefix}-crank`, label: say("Turns of the input"), min: 0, max: LONGEST, step: 0.05, value: 0 },
      (turns) => { this.setRunning(false); this.turns = turns; onTurn(turns); });
    this.row = html("div", { class: "gk-crank" }, this.press, this.home, this.slider.row);
    this.tick = this.tick.bind(this);
  }

  // The fastest member sets the pace, so that the eye can follow it.
  setPace(fastestPerTurn) {
    this.pace = 1 / Math.max(1, fastestPerTurn);
  }

  setReference(name) {
    this.slider.row.querySelector("label").textContent = name;
    this.slider.slider.setAttribute("aria-label", name);
  }

  setRunning(running) {
    if (running === this.running) return;
    this.running = running;
    this.press.textContent = running ? say("Stop") : say("Turn");
    this.press.setAttribute("aria-pressed", String(running));
    if (running) {
      this.last = performance.now();
      this.frame = requestAnimationFrame(this.tick);
    } else {
      cancelAnimationFrame(this.frame);
    }
  }

  pressed() {
    // Who asked the page for little motion gets one still step for each press.
    if (wantsStillness()) this.moveTo(this.turns + STILL_STEP > LONGEST ? 0 : this.turns + STILL_STEP);
    else this.setRunning(!this.running);
  }

  tick(now) {
    if (!this.running) return;
    // A drawing that has left the page, or lies out of sight, needs no frames.
    if (!this.row.isConnected) { this.setRunning(false); return; }
    const passed = Math.min(0.1, (now - this.last) / 1000);
    this.last = now;
    const next = this.turns + passed * TURNS_PER_SECOND * this.pace;
    this.moveTo(next > LONGEST ? 0 : next);
    this.frame = requestAnimationFrame(this.tick);
  }

  moveTo(turns) {
    this.turns = turns;
    this.slider.set(Math.round(turns * 20) / 20);
    this.onTurn(turns);
  }
}
