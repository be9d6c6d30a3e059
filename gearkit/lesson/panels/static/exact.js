// Exact numbers: fractions of BigInts, always in lowest terms, so that a state found by rank is never a rounding matter.

import { localized, say } from "./words.js";

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

// A number as the kernel writes it, 19/6 or -2; what a learner types is read there, as every answer is.
export function exactOf(text) {
  const [over, under = "1"] = text.split("/");
  return new Exact(BigInt(over), BigInt(under));
}

const MINUS = "\u2212";

// A number for the screen: the rounding happens here and nowhere earlier.
export function shown(value, digits = 3) {
  const number = value instanceof Exact ? value.toNumber() : value;
  const text = Number.isInteger(number) ? String(number) : number.toFixed(digits);
  return localized(text.replace("-", MINUS));
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
  return short === "-0" || short === "" ? "0" : localized(short.replace("-", MINUS));
}

export function listed(words, last = say("and")) {
  return words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} ${last} ${words[words.length - 1]}`;
}
