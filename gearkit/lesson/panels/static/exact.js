// Exact numbers: fractions of BigInts, always in lowest terms, so that a state found by rank is never a rounding matter.

function gcd(a, b) {
  a = a < 0n ? -a : a;
  b = b < 0n ? -b : b;
  while (b) [a, b] = [b, a % b];
  return a;
}

export class Exact {
  constructor(numerator, denominator = 1n) {
    if (denominator === 0n) throw new Error("a fraction needs a denominator other than 0");
    const sign = denominator < 0n ? -1n : 1n;
    const common = gcd(numerator, denominator) || 1n;
    this.n = (sign * numerator) / common;
    this.d = (sign * denominator) / common;
  }

  static of(value) {
    return value instanceof Exact ? value : new Exact(BigInt(value));
  }

  plus(other) { return new Exact(this.n * other.d + other.n * this.d, this.d * other.d); }
  minus(other) { return new Exact(this.n * other.d - other.n * this.d, this.d * other.d); }
  times(other) { return new Exact(this.n * other.n, this.d * other.d); }
  over(other) { return new Exact(this.n * other.d, this.d * other.n); }
  negated() { return new Exact(-this.n, this.d); }

  get sign() { return this.n > 0n ? 1 : this.n < 0n ? -1 : 0; }
  get isZero() { return this.n === 0n; }
  equals(other) { return this.n === other.n && this.d === other.d; }
  toNumber() { return Number(this.n) / Number(this.d); }
  toString() { return this.d === 1n ? `${this.n}` : `${this.n}/${this.d}`; }
}

export const ZERO = new Exact(0n);
export const ONE = new Exact(1n);

// What a learner types for a ratio or a speed: 19/6, 3.17, -2.5, also with a typographic minus and as 3.2:1.
export function readNumber(text) {
  const plain = text.trim().replace(/[\u2212\u2013]/g, "-").replace(/\s*:\s*1$/, "").replace(/\s+/g, "");
  if (plain === "") return { trouble: "Nothing is written yet." };
  if (/^[-+]?\d+,\d+$/.test(plain)) return { trouble: "Write decimals with a point: 3.17, not 3,17." };
  let match = /^([-+]?)(\d{1,12})\/(\d{1,12})$/.exec(plain);
  if (match) {
    if (BigInt(match[3]) === 0n) return { trouble: "The lower number of a fraction cannot be 0." };
    const value = new Exact(BigInt(match[2]), BigInt(match[3]));
    return { value: match[1] === "-" ? value.negated() : value };
  }
  match = /^([-+]?)(\d{0,12})(?:\.(\d{0,12}))?$/.exec(plain);
  if (match && (match[2] || match[3])) {
    const decimals = match[3] || "";
    const value = new Exact(BigInt((match[2] || "0") + decimals), 10n ** BigInt(decimals.length));
    return { value: match[1] === "-" ? value.negated() : value };
  }
  return { trouble: `“${text.trim()}” is not read as a number. Write it like 19/6 or 3.17 or −2.` };
}

const MINUS = "\u2212";

// A number for the screen: the rounding happens here and nowhere earlier.
export function shown(value, digits = 3) {
  const number = value instanceof Exact ? value.toNumber() : value;
  const text = Number.isInteger(number) ? String(number) : number.toFixed(digits);
  return text.replace("-", MINUS);
}

export function shownExact(value) {
  return value.toString().replace("-", MINUS);
}

// A number without idle zeros, as the kernel writes it in a sentence; a small one keeps as many figures.
export function decimal(value, digits = 3) {
  const number = value instanceof Exact ? value.toNumber() : value;
  const size = Math.abs(number);
  let places = digits;
  while (size && places < 12 && size < 10 ** (digits - 1 - places)) places += 1;
  const text = number.toFixed(places);
  const short = places ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
  return short === "-0" || short === "" ? "0" : short.replace("-", MINUS);
}

export function listed(words, last = "and") {
  return words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} ${last} ${words[words.length - 1]}`;
}
