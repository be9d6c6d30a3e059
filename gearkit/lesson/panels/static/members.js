// Members and sets as everybody reads them; a test holds these to gearkit.text.phrases.

const NUMBERED = /^P?(\d+)$/;

// "P1.sun" is "sun 1", "rear.ring" is "rear ring", "output" stays.
export function memberLabel(name) {
  const dot = name.lastIndexOf(".");
  if (dot < 0) return name;
  const set = name.slice(0, dot), part = name.slice(dot + 1).replace(/_/g, " "), number = NUMBERED.exec(set);
  return number ? `${part} ${number[1]}` : `${set} ${part}`;
}

// "P2" is "set 2", "rear" is "rear set".
export function setWords(name) {
  const number = NUMBERED.exec(name);
  return number ? `set ${number[1]}` : `${name} set`;
}
