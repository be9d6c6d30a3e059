// The gears of a single-pinion set as plain data, in the shape in which the kernel sends every other kind of set: lengths
// in modules, angles in radians, clockwise positive. The kernel's own geometry is the model, and a test compares the two.

const PRESSURE_ANGLE = (20 * Math.PI) / 180;
const TIP = 1.0;
const ROOT = 1.25;
const PLAY = 0.05;
const RIM = 4.0;

const involute = (angle) => Math.tan(angle) - angle;

// Half the angle that a tooth takes at a radius, by the involute of the base circle.
function halfAngle(radius, pitch, play) {
  const base = pitch * Math.cos(PRESSURE_ANGLE);
  const atPitch = (Math.PI / 2 - play) / (2 * pitch);
  const angle = radius > base ? Math.acos(base / radius) : 0;
  return Math.max(atPitch + involute(PRESSURE_ANGLE) - involute(angle), 0.12 / pitch);
}

// An outer gear has a tooth at angle 0, a ring a tooth space.
export function gearPath(teeth, internal) {
  const pitch = teeth / 2;
  const inner = internal ? pitch - TIP : Math.max(pitch - ROOT, 0.25 * pitch);
  const outer = internal ? pitch + ROOT : pitch + TIP;
  const radii = [inner, (inner + pitch) / 2, pitch, outer];
  const halves = radii.map((radius) => halfAngle(radius, pitch, internal ? -PLAY : PLAY));
  const points = [];
  const put = (radius, angle) => points.push(`${(radius * Math.cos(angle)).toFixed(2)} ${(radius * Math.sin(angle)).toFixed(2)}`);
  for (let tooth = 0; tooth < teeth; tooth += 1) {
    const middle = (2 * Math.PI * tooth) / teeth;
    for (let k = 0; k < 4; k += 1) put(radii[k], middle - halves[k]);
    for (let k = 3; k >= 0; k -= 1) put(radii[k], middle + halves[k]);
  }
  return `M${points.join("L")}Z`;
}

// Nearest whole step; halves go to the even one, as in the kernel.
function nearest(numerator, denominator) {
  const whole = Math.floor(numerator / denominator);
  const rest = numerator - whole * denominator;
  if (2 * rest === denominator) return whole % 2 ? whole + 1 : whole;
  return 2 * rest > denominator ? whole + 1 : whole;
}

// A pinion can only go where its teeth fit sun and ring together: at whole steps of one turn / (S + R).
export function placesOf(planets, steps) {
  return Array.from({ length: planets }, (_, k) => -Math.PI / 2 + (2 * Math.PI * nearest(k * steps, planets)) / steps);
}

function gear(name, kind, teeth, more) {
  return { name, kind, teeth, known: true, module: 1, pitch_radius: teeth / 2, centre_radius: 0, centre_angle: 0, angle: 0,
    outline: `${kind === "ring" ? "ring" : "gear"} ${teeth}`, ...more };
}

function sunGear(sun) { return gear("sun", "sun", sun, { turns: { sun: 1, carrier: 0, ring: 0 } }); }

function ringGear(ring, angle) { return gear("ring", "ring", ring, { angle, turns: { sun: 0, carrier: 0, ring: 1 } }); }

function outlinesOf(sun, ring, planet) {
  return { [`gear ${sun}`]: gearPath(sun, false), [`ring ${ring}`]: gearPath(ring, true), [`gear ${planet}`]: gearPath(planet, false) };
}

// Angle of a tooth of the second gear so that it meshes with the first, whose centre lies the other way along the line.
function externalMesh(firstAngle, first, second, line) {
  return line + Math.PI - (first / second) * (firstAngle - line) - Math.PI / second;
}

// A ring with a count of its own is drawn as it is, with the gap or the clash that follows.
export function singleSetGeometry(sun, planet, planets, ring = sun + 2 * planet) {
  const spin = sun / planet;
  const pinions = placesOf(planets, sun + ring).map((place, k) => gear(`planet ${k + 1}`, "pinion", planet, {
    centre_radius: (sun + planet) / 2, centre_angle: place, angle: externalMesh(0, sun, planet, place),
    turns: { sun: -spin, carrier: 1 + spin, ring: 0 } }));
  const first = pinions[0];
  const ringAngle = first.centre_angle + (planet / ring) * (first.angle - first.centre_angle);
  const outer = Math.max(ring / 2, sun / 2 + planet) + RIM;
  return { pinions: "single", outer_radius: outer, planets, equally_spaced: (sun + ring) % planets === 0,
    gears: [sunGear(sun), ringGear(ring, ringAngle), ...pinions], outlines: outlinesOf(sun, ring, planet) };
}

// Pairs of equal planets: the inner one on the sun, the outer one in the ring. pair: { near, far, bend }
export function doubleSetGeometry(sun, planet, planets, ring, { near, far, bend }) {
  const spin = sun / planet;
  const pinions = placesOf(planets, ring - sun).flatMap((place, k) => {
    const angle = externalMesh(0, sun, planet, place);
    const away = place + bend;
    const line = Math.atan2(far * Math.sin(away) - near * Math.sin(place), far * Math.cos(away) - near * Math.cos(place));
    return [gear(`inner pinion ${k + 1}`, "pinion", planet, { centre_radius: near, centre_angle: place, angle, turns: { sun: -spin, carrier: 1 + spin, ring: 0 } }),
      gear(`outer pinion ${k + 1}`, "pinion", planet, { centre_radius: far, centre_angle: away, angle: externalMesh(angle, planet, planet, line), turns: { sun: spin, carrier: 1 - spin, ring: 0 } })];
  });
  const ringAngle = pinions[1].centre_angle + (planet / ring) * (pinions[1].angle - pinions[1].centre_angle);
  return { pinions: "double", outer_radius: ring / 2 + RIM, planets, equally_spaced: (ring - sun) % planets === 0,
    gears: [sunGear(sun), ringGear(ring, ringAngle), ...pinions], outlines: outlinesOf(sun, ring, planet) };
}

export function circlePath(radius) {
  return `M${radius} 0A${radius} ${radius} 0 1 0 ${-radius} 0A${radius} ${radius} 0 1 0 ${radius} 0Z`;
}

// An arc with an arrow head, its middle at the top, over an angle in radians; positive is clockwise.
export function arcArrow(radius, sweep, head) {
  if (Math.abs(sweep) < 0.02) return "";
  const start = -Math.PI / 2 - sweep / 2;
  const end = start + sweep;
  const at = (r, angle) => `${(r * Math.cos(angle)).toFixed(2)} ${(r * Math.sin(angle)).toFixed(2)}`;
  const large = Math.abs(sweep) > Math.PI ? 1 : 0;
  const back = end - (Math.sign(sweep) * head * 1.3) / radius;
  return `M${at(radius, start)}A${radius} ${radius} 0 ${large} ${sweep > 0 ? 1 : 0} ${at(radius, end)}`
    + `M${at(radius - head * 0.7, back)}L${at(radius, end)}L${at(radius + head * 0.7, back)}`;
}
