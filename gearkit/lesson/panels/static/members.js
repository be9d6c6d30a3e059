// Members and sets as everybody reads them; a test holds these to gearkit.text.phrases.

import { later, say } from "./words.js";

const NUMBERED = /^P?(\d+)$/;
const ENDS = [later("input"), later("output"), later("engine"), later("housing")];
// What a member is called besides sun, carrier and ring.
later("sun pinion");
later("ring pinion");

// "P1.sun" is "sun 1", "rear.ring" is "rear ring", "output" stays.
export function memberLabel(name) {
  const dot = name.lastIndexOf(".");
  if (dot < 0) return ENDS.includes(name) ? say(name) : name;
  const set = name.slice(0, dot), part = say(name.slice(dot + 1).replace(/_/g, " ")), number = NUMBERED.exec(set);
  return number ? say("{member} {number}", { member: part, number: number[1] }) : say("{set_name} {member}", { set_name: set, member: part });
}

// "P2" is "set 2", "rear" is "rear set".
export function setWords(name) {
  const number = NUMBERED.exec(name);
  return number ? say("set {number}", { number: number[1] }) : say("{name} set", { name });
}
