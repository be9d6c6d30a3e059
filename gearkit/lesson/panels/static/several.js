// Speeds, torques and powers at the ends of a train with machines or several outputs, from what the kernel says once for
// each combination of applied elements: every speed as a sum of the chosen ones. What goes in at one end comes out at the
// others, so the torque at a chosen end is less the sum of the given torques, each times its factor.

import { Exact, ONE, ZERO, exactOf } from "./exact.js";

const KILOWATT = Math.PI / 30000;

// A speed for chosen ones ({ name: Exact }); null where they do not fix it.
export function speedOf(choice, name, chosen) {
  const parts = choice.by[name];
  if (name === "housing") return ZERO;
  if (!parts) return null;
  return Object.entries(parts).reduce((sum, [one, factor]) => sum.plus(exactOf(factor).times(chosen[one])), ZERO);
}

// What the torque at an end is for given ones ({ name: Exact }).
function torqueAt(choice, name, given) {
  if (name in given) return given[name];
  return Object.entries(given).reduce((sum, [one, torque]) => sum.minus(exactOf(choice.by[one][name] ?? "0").times(torque)), ZERO);
}

// Torques for a choice of given ones, { name: Exact }; null where at these speeds nothing fixes them.
export function torquesOf(ends, kase, load, given, speeds) {
  const choice = kase.choices[load.choice];
  const every = (torques) => Object.fromEntries(ends.map(({ name }) => [name, torqueAt(choice, name, torques)]));
  if (!load.unknown) return every(given);
  // The machine left out has the torque t; each torque is then start + t * slope.
  const start = every({ ...given, [load.unknown]: ZERO });
  const slope = every({ ...Object.fromEntries(load.names.map((name) => [name, ZERO])), [load.unknown]: ONE });
  const balances = atRest(ends.filter(({ kind }) => kind === "machine"), start, slope, speeds);
  const torques = (t) => Object.fromEntries(ends.map(({ name }) => [name, start[name].plus(t.times(slope[name]))]));
  const standing = balances.filter((t) => powerLeaves(torques(t), speeds));
  return standing.length === 1 ? torques(standing[0]) : null;
}

// Every t with which the machines' electrical powers add to zero: a machine takes more than it gives to its shaft, and gives
// less than it gets from it, so each way for power to go is tried and kept where power then goes that way.
function atRest(machines, start, slope, speeds) {
  const turning = machines.filter(({ name }) => !speeds[name].isZero);
  const lossy = turning.filter(({ efficiency }) => efficiency !== "1");
  const balances = [];
  for (let pattern = 0; pattern < 2 ** lossy.length; pattern += 1) {
    const sign = (machine) => ((pattern >> lossy.indexOf(machine)) & 1 ? -1 : 1);
    const weight = (machine) => {
      const eta = exactOf(machine.efficiency);
      return speeds[machine.name].times(!lossy.includes(machine) ? ONE : sign(machine) > 0 ? ONE.over(eta) : eta);
    };
    const total = (values) => turning.reduce((sum, machine) => sum.plus(weight(machine).times(values[machine.name])), ZERO);
    const [fixed, moving] = [total(start), total(slope)];
    if (moving.isZero) continue;
    const t = fixed.over(moving).negated();
    const agrees = (machine) => [0, sign(machine)].includes(speeds[machine.name].times(start[machine.name].plus(t.times(slope[machine.name]))).sign);
    if (lossy.every(agrees) && !balances.some((other) => other.equals(t))) balances.push(t);
  }
  return balances;
}

function powerLeaves(torques, speeds) {
  const signs = Object.entries(torques).map(([name, torque]) => torque.times(speeds[name]).sign);
  return signs.some((sign) => sign < 0) || signs.every((sign) => sign === 0);
}

// Power in kW that goes in at an end, and what a machine takes from its battery for it.
export function powersOf(ends, torques, speeds) {
  return Object.fromEntries(ends.map(({ name, kind, efficiency }) => {
    const power = torques[name].times(speeds[name]).toNumber() * KILOWATT;
    const eta = exactOf(efficiency).toNumber();
    return [name, { power, electrical: kind === "machine" ? (power > 0 ? power / eta : power * eta) : null }];
  }));
}

export function exactSpeed(value) { return new Exact(BigInt(Math.round(value))); }
