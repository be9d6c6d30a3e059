// What a reader reads, in the reader's language: the English sentence stands in the code, a table from Python may hold
// another. `say` takes its message as a literal, because Python and Babel find the messages in the text of the modules.

let messages = {};

// table: English message -> the same in the reader's language; none for English
export function speak(table) {
  messages = table || {};
}

// values: what stands for the names in braces
export function say(message, values) {
  const told = messages[message] || message;
  return values ? told.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole)) : told;
}
