// What a reader reads, in the reader's language: the English sentence stands in the code, a table from Python may hold
// another. Messages are literals in calls of `say`, `sayN` and `later`, because Python finds them in the text of the modules.

let messages = {};

// table: from `bundle.messages`; empty for English. Panels of one page share this module, and their tables add up.
export function speak(table) {
  messages = { ...messages, ...table };
}

// values: what stands for the names in braces. A message that is no literal was one where it was marked by `later`.
export function say(message, values) {
  return filled(messages[message] || message, values);
}

// The form of a message that goes with a number; {count} stands for it.
export function sayN(one, many, count, values) {
  const told = messages[many];
  const form = told ? told.forms[told.which[count < told.which.length ? count : 100 + (count % 100)]] : count === 1 ? one : many;
  return filled(form, { count, ...values });
}

// Marks a message that is data now and goes through `say` where it is shown.
export function later(message) { return message; }

// A number that was written with a point, as the reader's language writes it.
export function localized(number) { return messages["decimal mark"] ? number.replace(".", messages["decimal mark"]) : number; }

// A word of a closed vocabulary is said as well where it stands in a sentence.
function word(value) { return typeof value === "string" && typeof messages[value] === "string" ? messages[value] : String(value); }

function filled(message, values) {
  return values ? message.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? word(values[name]) : whole)) : message;
}
