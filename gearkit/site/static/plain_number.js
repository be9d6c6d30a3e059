// Numbers in the plainest forms, for a page without Python: 7/4, 1.75, 1,75, -2, 3.2:1, with the unit that is asked for.
// What can be read in two ways, and all else, is refused with words; Python reads more, and never otherwise.

import { Exact } from "./exact.js";
import { say } from "./words.js";

const DIGITS = 30;
const LONG = 40;
const FORM = /^([+-]?)(\d+)(?:[.,](\d+))?(?:\s*[/:]\s*(\d+))?$/;

// Returns { figure: "7/4" } or { trouble: words }.
export function plainNumber(text, unit = "") {
  const written = { text: text.length > LONG ? `${text.slice(0, LONG)}…` : text };
  const bare = text.trim().replace(/[\u2212\u2013]/g, "-");
  const number = unit && bare.endsWith(unit) ? bare.slice(0, -unit.length).trim() : bare;
  const match = FORM.exec(number);
  if (!match || number.length > DIGITS) return { trouble: say("“{text}” is not read as a number here. Write it as 7/4, 1.75 or -2.", written) };
  const [, sign, whole, decimals = "", under = "1"] = match;
  if (number.includes(",") && decimals.length === 3) return { trouble: say("“{text}” can be read in two ways: a comma before three digits. Write it as 7/4, 1.75 or -2.", written) };
  if (Number(under) === 0) return { trouble: say("“{text}” is no number: nothing can be divided by 0. Write it as 7/4, 1.75 or -2.", written) };
  const value = new Exact(BigInt(`${whole}${decimals}`), BigInt(under) * 10n ** BigInt(decimals.length));
  return { figure: (sign === "-" ? value.negated() : value).toString() };
}
