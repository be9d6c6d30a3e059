// A train in three dimensions, cut open, that turns: WebGL 2 and this module, nothing else.
// The scene comes from Python (gearkit.draw.cutaway.scene): half-sections as outlines, gears as half a tooth each; both are
// spun up here. Axes: x along the train, y up, z to the reader; angle 0 points up and grows in the input's sense.

const TURN = 2 * Math.PI;
const SURFACE = 0, FACE = 1, LINE = 2, MANTLE = 3, PAINT = 4;
// How much is cut away, from pointing up to pointing at the reader; of the casing more, so that it hides nothing.
const WEDGE = [0, TURN / 4], CASING_WEDGE = [0, 2.95];
const HUES = { housing: "#a3a9b0", blue: "#2f86c0", red: "#e07a3a", green: "#2fa585", pink: "#d193b3", violet: "#7a5cb8", brown: "#94673a" };
const ROLES = { p: "#2f86c0", s: "#4a5260", i: "#d3d7db", m: "#9aa2ab" };
const APPLIED = "#20242a", OPEN_INNER = "#b79b7a", OPEN_OUTER = "#dfe3e6", STREAM = "#ffd23c", FAINT = "#e3e6e9";
const VERTEX = `#version 300 es
in vec3 place; in vec3 normal; uniform mat4 view, motion; uniform float kind; out vec3 world, facing;
void main() {
  world = (motion * vec4(place, 1.0)).xyz; facing = mat3(motion) * normal; gl_Position = view * vec4(world, 1.0);
  if (kind == 2.0 || kind == 4.0) gl_Position.z -= 0.0007 * gl_Position.w;  // just before the faces that they edge
}`;
// mark: the direction in which a body's paint marks stand, hatch: slant and pitch, band: pitch of dark rings, wedge: directions between which all is cut away.
// What is not cut, and what is not lit, has a program of its own: only a program that never discards lets hidden points be left out early.
const CUT = "if (wedge.x * world.z - wedge.y * world.y > 0.02 && wedge.w * world.y - wedge.z * world.z > 0.02) discard;";
const LIT = `
  if (kind == 1.0) {
    float r = length(world.yz), line = abs(fract((world.x + hatch.x * r) / hatch.y) - 0.5) * 2.0;
    if (band > 0.0) line = min(line, abs(fract((world.x - hatch.x * r) / hatch.y) - 0.5) * 2.0);
    shade = vec4(mix(colour * 0.62, mix(colour, vec3(1.0), 0.55), smoothstep(0.10, 0.28, line)), 1.0); return;
  }
  vec3 base = colour;
  if (band > 0.0 && fract((world.x + length(world.yz)) / band) < 0.4) base *= 0.5;
  if (kind == 3.0) {
    vec2 q = vec2(world.y * mark.x + world.z * mark.y, world.z * mark.x - world.y * mark.y);
    float third = q.x < 0.0 ? min(abs(0.866 * q.x - 0.5 * q.y), abs(0.866 * q.x + 0.5 * q.y)) : 9.0;
    if (q.x > 0.0 && abs(q.y) < 1.5) base = vec3(1.0); else if (third < 0.5) base = mix(base, vec3(1.0), 0.5);
  }
  vec3 n = normalize(facing), to = normalize(eye - world), sun = vec3(-0.46, 0.62, 0.636);
  float light = 0.58 + 0.14 * n.y + 0.06 * n.z + 0.33 * max(dot(n, sun), 0.0) + 0.10 * max(dot(n, to), 0.0);
  float gloss = max(dot(n, normalize(sun + to)), 0.0);
  gloss *= gloss; gloss *= gloss; gloss *= gloss; gloss *= gloss; gloss *= gloss;
  shade = vec4(base * light + vec3(0.16) * gloss, 1.0);`;
const fragment = (cut, lit) => `#version 300 es
precision highp float;
in vec3 world, facing; uniform vec3 colour, eye; uniform vec2 mark, hatch; uniform vec4 wedge; uniform highp float kind, band; out vec4 shade;
void main() {
  ${cut ? CUT : ""}
  ${lit ? LIT : "shade = vec4(colour, 1.0);"}
}`;
const UNIFORMS = ["view", "motion", "colour", "eye", "mark", "hatch", "wedge", "kind", "band"];

const rgb = (hex) => [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16) / 255);
const paler = (c, share) => c.map((v) => v + (1 - v) * share);

// A second shaft of the same hue, whose line is dashed in the stick diagram, is paler (as are the planets on the first one) and has dark rings.
export function lookOf({ hue, paler: again = 0 }, planet) {
  const c = paler(rgb(HUES[hue]), Math.min(0.6, 0.36 * again));
  return { colour: planet ? paler(c, 0.42) : c, band: planet ? 0 : [0, 6, 3.5, 9, 5, 12][again] };
}
// How the train is looked at to begin with: sideways and from above, in radians.
export const HOME = { yaw: -0.42, pitch: 0.36, zoom: 1 };
const polar = (r, a) => [r * Math.cos(a), r * Math.sin(a)];
const steps = (r) => Math.max(20, Math.min(72, Math.round(14 + r * 0.75)));
const chunks = (list, size) => Array.from({ length: list.length / size }, (_, k) => list.slice(size * k, size * k + size));

// Triangles and edge lines of one thing that moves as one.
class Mesh {
  constructor() { this.points = []; this.solid = []; this.lines = []; }

  point(place, normal) { this.points.push(...place, ...normal); return this.points.length / 6 - 1; }

  // Turned so that its front looks along its normals.
  quad(a, b, c, d) {
    const p = this.points, at = (from, to, k) => p[6 * to + k] - p[6 * from + k]; let sense = 0;
    for (const [m, n] of [[b, c], [c, d]]) for (let k = 0; k < 3; k += 1) {
      const [i, j] = [(k + 1) % 3, (k + 2) % 3];
      sense += (at(a, m, i) * at(a, n, j) - at(a, m, j) * at(a, n, i)) * p[6 * a + 3 + k];
    }
    this.solid.push(...(sense >= 0 ? [a, b, c, a, c, d] : [a, c, b, a, d, c]));
  }

  flat(corners, normal) { this.quad(...corners.map((corner) => this.point(corner, normal))); }

  line(places, closed) {
    const ids = places.map((place) => this.point(place, [0, 0, 1]));
    ids.forEach((id, k) => { if (k || closed) this.lines.push(ids[(k + ids.length - 1) % ids.length], id); });
  }

  // One piece of an outline round the axis, all of it but the wedge.
  revolve([x0, r0, x1, r1, outward], [from, to], finer = 1) {
    const all = TURN - (to - from), count = Math.ceil(finer * steps(Math.max(r0, r1)) * all / TURN), face = x0 === x1;
    let before = null;
    for (let k = 0; k <= count; k += 1) {
      const [c, s] = polar(1, to + all * k / count), normal = face ? [outward, 0, 0] : [0, outward * c, outward * s];
      const pair = [this.point([x0, r0 * c, r0 * s], normal), this.point([x1, r1 * c, r1 * s], normal)];
      if (before) this.quad(before[0], before[1], pair[1], pair[0]);
      before = pair;
    }
    if (!face) for (const x of [x0, x1]) this.line(Array.from({ length: count + 1 }, (_, k) => [x, ...polar(r0, to + all * k / count)]), false);
  }

  // A cut face at an angle: the half-section itself.
  cut(faces, angle, side) {
    const [c, s] = polar(1, angle), normal = [0, -s * side, c * side];
    for (const [x0, x1, r0, r1] of faces) this.flat([[x0, r0], [x1, r0], [x1, r1], [x0, r1]].map(([x, r]) => [x, r * c, r * s]), normal);
  }

  edges(pieces, angle) { for (const [x0, r0, x1, r1] of pieces) this.line([[x0, ...polar(r0, angle)], [x1, ...polar(r1, angle)]], false); }

  // place(t, a): a point on the rod's mantle, t along it (0 or 1), a round it; along: its direction
  rod(place, along) {
    const count = 16, ring = (t) => Array.from({ length: count }, (_, k) => place(t, TURN * k / count));
    const [low, high] = [ring(0), ring(1)], middle = (list) => [0, 1, 2].map((k) => list.reduce((sum, q) => sum + q[k], 0) / count);
    const centres = [middle(low), middle(high)];
    const out = (q, centre) => { const d = q.map((v, k) => v - centre[k]), size = Math.hypot(...d) || 1; return d.map((v) => v / size); };
    for (let k = 0; k < count; k += 1) {
      const n = (k + 1) % count;
      this.quad(this.point(low[k], out(low[k], centres[0])), this.point(high[k], out(high[k], centres[1])), this.point(high[n], out(high[n], centres[1])), this.point(low[n], out(low[n], centres[0])));
      this.flat([centres[0], low[k], low[n], low[n]], along.map((v) => -v)); this.flat([centres[1], high[k], high[n], high[n]], along);
    }
    this.line(low, true); this.line(high, true);
  }

  // Teeth between two outlines [x, r, a] of so many points a tooth, in the sense of growing angle, closed on both sides as far as
  // the insides [x, r].
  teeth(near, far, each, insides, internal) {
    const at = ([x, r, a]) => [x, ...polar(r, a)], count = near.length, side = Math.sign(far[0][0] - near[0][0]);
    for (let k = 0; k < count; k += 1) {
      const n = (k + 1) % count, [p, q, u] = [at(near[k]), at(near[n]), at(far[k])];
      const e = q.map((v, i) => v - p[i]), f = u.map((v, i) => v - p[i]);
      const normal = [e[1] * f[2] - e[2] * f[1], e[2] * f[0] - e[0] * f[2], e[0] * f[1] - e[1] * f[0]];
      // What lies to the right of the outline's way is outside the tooth; for a ring it is the other way round.
      const sense = (normal[1] * e[2] - normal[2] * e[1]) * (internal ? -1 : 1) < 0 ? -1 : 1, size = Math.hypot(...normal) * sense || 1;
      this.flat([p, u, at(far[n]), q], normal.map((v) => v / size));
    }
    // An end face is for each tooth its two flanks joined point by point, and a strip down to the inside; a ring's tooth lies between two spaces.
    for (const [outline, [x, r], facing] of [[near, insides[0], -side], [far, insides[1], side]]) {
      const normal = [facing, 0, 0], inner = (k) => this.point(at([x, r, outline[k][2]]), normal);
      for (let start = internal ? each / 2 : 0; start < count + (internal ? each / 2 : 0); start += each) {
        const places = Array.from({ length: each + 1 }, (_, j) => (start + j) % count), ids = places.map((k) => this.point(at(outline[k]), normal));
        for (let j = 0; j < each / 2 - 1; j += 1) this.quad(ids[j], ids[each - 1 - j], ids[each - 2 - j], ids[j + 1]);
        const [low, high, next] = [0, each - 1, each].map((j) => inner(places[j]));
        this.quad(ids[0], ids[each - 1], high, low); this.quad(ids[each - 1], ids[each], next, high);
      }
    }
    for (const outline of [near, far]) this.line(outline.map(at), true);
  }
}

// All teeth of a gear, from half a tooth (of a ring: half a space): [height over the pitch circle, angle].
function profile(gear, flanks, turned) {
  const half = chunks(flanks[gear.flank], 2), found = [];
  for (let t = 0; t < gear.teeth; t += 1) {
    const middle = TURN * t / gear.teeth + turned;
    for (const [h, a] of half) found.push([h * gear.module, middle - a]);
    for (const [h, a] of half.slice().reverse()) found.push([h * gear.module, middle + a]);
  }
  return found;
}

// The teeth of a spur gear or of a cone (apex and large end on its axis; depth: where the teeth end towards the apex).
function gearMesh(gear, flanks, turned, inside, cone, depth) {
  const mesh = new Mesh(), pitch = gear.module * gear.teeth / 2, internal = gear.flank.startsWith("-"), points = profile(gear, flanks, turned);
  if (!cone) {
    const on = (x) => points.map(([h, a]) => [x, pitch + h, a]);
    mesh.teeth(on(gear.x[0]), on(gear.x[1]), points.length / gear.teeth, gear.x.map((x) => [x, inside]), internal);
    return mesh;
  }
  const [apex, large] = cone, reach = Math.hypot(large - apex, pitch), way = Math.sign(apex - large);
  const big = points.map(([h, a]) => [large + way * h * pitch / reach, pitch + h * Math.abs(large - apex) / reach, a]);
  const small = big.map(([x, r, a]) => [apex + depth * (x - apex), depth * r, a]);
  const back = large - way * 1.25 * gear.module * pitch / reach;
  mesh.teeth(big, small, points.length / gear.teeth, [[back, inside], [apex + depth * (back - apex), Math.min(inside, depth * pitch * 0.6)]], false);
  return mesh;
}

// Column by column: a turn about the axis, then a shift along it and out to where a planet is.
function turned(angle, shift, radius = 0, orbit = 0) {
  const [c, s] = polar(1, angle), [y, z] = polar(radius, orbit);
  return [1, 0, 0, 0, 0, c, s, 0, 0, -s, c, 0, shift, y, z, 1];
}

// A pinion on a pin that stands across the axis: its own axis points outwards.
function across(spin, orbit, shift, middle) {
  const [c, s] = polar(1, spin), [oc, os] = polar(1, orbit), out = (v) => [v[0], v[1] * oc - v[2] * os, v[1] * os + v[2] * oc, 0];
  return [...out([0, 1, 0]), ...out([s, 0, c]), ...out([c, 0, -s]), middle + shift, 0, 0, 1];
}

// Perspective and place of the eye. yaw and pitch in radians, centre and distance in mm.
function camera(yaw, pitch, distance, aspect, centre) {
  const [cy, sy, cp, sp] = [Math.cos(yaw), Math.sin(yaw), Math.cos(pitch), Math.sin(pitch)];
  const rows = [[cy, 0, -sy], [-sy * sp, cp, -cy * sp], [sy * cp, sp, cy * cp]], eye = rows[2].map((v, k) => v * distance + centre[k]);
  const near = distance * 0.3, far = distance * 3, scale = 1 / Math.tan(0.14), view = new Float32Array(16);
  for (let k = 0; k < 4; k += 1) {
    const v = rows.map((row) => (k < 3 ? row[k] : -row.reduce((sum, w, i) => sum + w * eye[i], 0)));
    view.set([scale / aspect * v[0], scale * v[1], (far + near) / (near - far) * v[2] + (k === 3 ? 2 * far * near / (near - far) : 0), -v[2]], 4 * k);
  }
  return { view, eye };
}

// A place in mm to fractions of the picture, from its left upper corner.
function projected(m, x, y, z) {
  const [a, b, w] = [0, 1, 3].map((row) => m[row] * x + m[4 + row] * y + m[8 + row] * z + m[12 + row]);
  return [(a / w + 1) / 2, (1 - b / w) / 2];
}

// Turns of each planet about its pin for one turn of its sun, both seen from the carrier.
export function spinsOf(scene) {
  return scene.planets.map(({ spin }) => { const [n, d] = spin.split("/").map(Number); return n / (d || 1); });
}

// Turns of each body, and of each planet (seen from the housing; of one across the axis: about its pin), for the input's turns.
export function turnsOf(scene, spins, speeds, turns) {
  const planet = (p, k) => spins[k] * (speeds[p.sun] - speeds[p.carrier]) + (p.bevel ? 0 : speeds[p.carrier]);
  return { bodies: speeds.map((speed) => speed * turns), planets: scene.planets.map((p, k) => planet(p, k) * turns) };
}

// Whether there is no graphics card: smooth edges would then cost as much again as the whole picture.
let software = null;
function drawnBySoftware() {
  if (software !== null) return software;
  const gl = document.createElement("canvas").getContext("webgl2"), told = gl?.getExtension("WEBGL_debug_renderer_info");
  software = /swiftshader|llvmpipe|software|basic render/i.test(gl?.getParameter(told ? told.UNMASKED_RENDERER_WEBGL : gl.RENDERER) ?? "");
  gl?.getExtension("WEBGL_lose_context")?.loseContext();
  return software;
}

export class SolidView {
  constructor(canvas, scene) {
    const gl = canvas.getContext("webgl2", { antialias: !drawnBySoftware(), alpha: true });
    if (!gl) throw new Error("This browser shows no WebGL 2");
    Object.assign(this, { gl, canvas, scene, ...HOME, apart: 0, byRole: false, focus: -1, turns: 0, coarse: false });
    this.applied = new Set(); this.range = null; this.things = []; this.shifts = scene.bodies.map(() => 0);
    this.spins = spinsOf(scene);
    this.setSpeeds(scene.bodies.map(() => 0));
    this.compile();
    scene.bodies.forEach((body, number) => this.addBody(body, number));
    scene.planets.forEach((planet, number) => this.addPlanet(planet, number));
    scene.packs.forEach((pack) => this.addPack(pack));
    const middle = ({ faces }) => { let area = 0, sum = 0; for (const [a, b, c, d] of chunks(faces, 4)) { area += (b - a) * (d - c); sum += (a + b) / 2 * (b - a) * (d - c); } return area ? sum / area : 0; };
    this.order = scene.bodies.map((_, k) => k).sort((a, b) => middle(scene.bodies[a]) - middle(scene.bodies[b]));
  }

  compile() {
    const { gl } = this;
    this.programs = [[false, true], [true, true], [false, false], [true, false]].map(([cut, lit]) => {
      const program = gl.createProgram();
      for (const [type, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, fragment(cut, lit)]]) {
        const shader = gl.createShader(type);
        gl.shaderSource(shader, text); gl.compileShader(shader); gl.attachShader(program, shader);
      }
      ["place", "normal"].forEach((name, k) => gl.bindAttribLocation(program, k, name));
      gl.linkProgram(program);
      if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
      return { program, cut, lit, at: Object.fromEntries(UNIFORMS.map((name) => [name, gl.getUniformLocation(program, name)])) };
    });
  }

  // about: { body, kind } and, where it moves with it, moves: true; planet, pack or stream by number
  add(mesh, about) {
    if (!mesh.points.length) return;
    const { gl } = this, array = gl.createVertexArray(), buffer = (target, data) => { gl.bindBuffer(target, gl.createBuffer()); gl.bufferData(target, data, gl.STATIC_DRAW); };
    gl.bindVertexArray(array); buffer(gl.ARRAY_BUFFER, new Float32Array(mesh.points));
    for (const k of [0, 1]) { gl.enableVertexAttribArray(k); gl.vertexAttribPointer(k, 3, gl.FLOAT, false, 24, 12 * k); }
    buffer(gl.ELEMENT_ARRAY_BUFFER, new Uint32Array([...mesh.solid, ...mesh.lines]));
    this.things.push({ array, solid: mesh.solid.length, lines: mesh.lines.length, ...about });
  }

  addBody(part, body) {
    const wedge = part.hue === "housing" ? CASING_WEDGE : WEDGE, { flanks, depth } = this.scene;
    const pieces = chunks(part.edges, 5), faces = chunks(part.faces, 4), mantle = new Mesh(), cut = new Mesh(), pins = new Mesh();
    for (const gear of this.scene.wheels.filter((each) => each.body === body)) {
      const pitch = gear.module * gear.teeth / 2, internal = gear.flank.startsWith("-"), root = pitch + (internal ? 1.25 : -1.25) * gear.module;
      this.add(gearMesh(gear, flanks, gear.angle, gear.cone ? 0.5 * pitch : root + (internal ? 0.3 : -0.3), gear.cone, depth), { body, kind: SURFACE, moves: true, wedge });
      if (!gear.cone) faces.push([...gear.x, Math.min(root, pitch), Math.max(root, pitch)]);
    }
    for (const piece of pieces) mantle.revolve(piece, wedge);
    // A body of revolution need not turn: only its paint marks do.
    this.add(mantle, { body, kind: part.hue === "housing" ? SURFACE : MANTLE });
    wedge.forEach((angle, k) => { cut.cut(faces, angle, k ? -1 : 1); cut.edges(pieces, angle); });
    this.add(cut, { body, kind: FACE });
    for (const [owner, radius, at, size, x0, x1, inner] of this.scene.pins) {
      if (owner !== body) continue;
      const [y, z] = polar(1, at), x = (x0 + x1) / 2;
      if (inner === undefined) pins.rod((t, a) => [t ? x1 + 0.8 : x0 - 0.8, radius * y + size * Math.cos(a), radius * z + size * Math.sin(a)], [1, 0, 0]);
      else pins.rod((t, a) => { const r = t ? radius : inner, w = size * Math.sin(a); return [x + size * Math.cos(a), r * y - w * z, r * z + w * y]; }, [0, y, z]);
    }
    this.add(pins, { body, kind: SURFACE, moves: true });
    const stream = new Map();
    this.scene.lines.forEach((line, number) => { if (line[0] === body) stream.set(number, line); });
    for (const [number, [, x0, r0, x1, r1]] of stream) this.things.push({ body, kind: PAINT, stream: number, from: [x0, r0], to: [x1, r1] });
  }

  addPlanet(planet, number) {
    const { flanks, depth } = this.scene, body = planet.carrier, bevel = Boolean(planet.bevel), pitch = planet.module * planet.teeth / 2;
    const mesh = gearMesh(planet, flanks, 0, bevel ? 2 : 3.3, bevel ? [0, planet.radius] : null, depth), paint = new Mesh();
    this.add(mesh, { body, planet: number, kind: SURFACE });
    // Its paint mark: a stripe from the pin to one tooth, on both faces.
    for (const x of bevel ? [planet.radius + 0.2] : [planet.x[0] - 0.05, planet.x[1] + 0.05]) paint.flat([[x, 3.4, -0.7], [x, pitch - planet.module, -0.7], [x, pitch - planet.module, 0.7], [x, 3.4, 0.7]], [x === planet.x[0] - 0.05 ? -1 : 1, 0, 0]);
    this.add(paint, { body, planet: number, kind: PAINT });
  }

  addPack(pack) {
    for (const [which, body] of [["inner", pack.bodies[0]], ["outer", pack.bodies[1]]]) {
      const mesh = new Mesh();
      for (const [x0, x1, r0, r1] of chunks(pack[which], 4)) {
        const pieces = [[x0, r0, x0, r1, -1], [x1, r0, x1, r1, 1], [x0, r0, x1, r0, -1], [x0, r1, x1, r1, 1]];
        // Plates are many; they may be less round.
        for (const piece of pieces) mesh.revolve(piece, WEDGE, 0.6);
        WEDGE.forEach((angle, k) => { mesh.cut([[x0, x1, r0, r1]], angle, k ? -1 : 1); mesh.edges(pieces, angle); });
      }
      this.add(mesh, { body, pack: pack.name, inner: which === "inner", kind: SURFACE });
    }
  }

  // speeds: of each body as a multiple of the input's
  setSpeeds(speeds) { this.speeds = speeds; }

  shift(body) { return this.apart * (this.order.indexOf(body) - (this.order.length - 1) / 2) * 42; }

  colour(thing) {
    const { bodies } = this.scene, part = bodies[thing.body], away = this.focus >= 0 && this.focus !== thing.body;
    if (thing.stream !== undefined) return paler(rgb(STREAM), away ? 0.6 : 0);
    if (thing.planet >= 0 && thing.kind === PAINT) return rgb("#ffffff");
    let c = lookOf(part, thing.planet >= 0).colour;
    if (thing.pack) c = rgb(this.applied.has(thing.pack) ? APPLIED : thing.inner ? OPEN_INNER : OPEN_OUTER);
    else if (this.byRole && part.hue !== "housing") c = rgb(ROLES[this.range ? this.range.roles[thing.body] : this.speeds[thing.body] ? "m" : "s"]);
    return away ? paler(rgb(FAINT), 0.2) : this.byRole && thing.planet >= 0 ? paler(c, 0.42) : c;
  }

  // How far away the eye is for the whole train to be in the picture as it is looked at first; it does not change with the side.
  distance(aspect) {
    const { length: [x0, x1], outside, bodies } = this.scene;  // pulled apart, bodies stand out from the middle, about which the eye turns
    const wide = bodies.reduce((most, { edges }, k) => Math.max(most, ...chunks(edges, 5).map(([a, , b]) => 2 * Math.max(...[a, b].map((x) => Math.abs(x + this.shift(k) - (x0 + x1) / 2))))), x1 - x0);
    let away = Math.max(wide / aspect, 1.96 * outside) * 4.1;
    const corners = [-wide / 2, wide / 2].flatMap((x) => Array.from({ length: 12 }, (_, k) => [x, ...polar(outside, TURN * k / 12)]));
    // The nearer the eye, the larger what is in front; two rounds come within a hundredth.
    for (const _ of [1, 2]) {
      const { view } = camera(HOME.yaw, HOME.pitch, away, aspect, [0, 0, 0]);
      away *= Math.max(1, ...corners.flatMap((corner) => { const [u, v] = projected(view, ...corner); return [u, v].map((part) => Math.abs(2 * part - 1) / 0.97); }));
    }
    return away;
  }

  draw() {
    const { gl, canvas, scene } = this, sharp = Math.min(2, devicePixelRatio || 1) * (this.coarse ? 0.5 : 1);
    const [w, h] = [canvas.clientWidth, canvas.clientHeight].map((size) => Math.max(1, Math.round(size * sharp)));
    if (canvas.width !== w || canvas.height !== h) Object.assign(canvas, { width: w, height: h });
    const [x0, x1] = scene.length;
    const { view, eye } = camera(this.yaw, this.pitch, this.distance(w / h) / this.zoom, w / h, [(x0 + x1) / 2, 0, 0]), { bodies, planets } = turnsOf(scene, this.spins, this.speeds, this.turns);
    this.view = view;
    gl.viewport(0, 0, w, h); gl.clearColor(0, 0, 0, 0); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT); gl.enable(gl.DEPTH_TEST); gl.enable(gl.CULL_FACE);
    const seen = this.things.filter((thing) => thing.stream === undefined || this.streamed(thing)).map((thing) => {
      const shift = this.shift(thing.body), angle = TURN * bodies[thing.body], planet = scene.planets[thing.planet];
      let motion = turned(thing.moves ? angle : 0, shift);
      if (planet) {
        const own = TURN * planets[thing.planet] + planet.angle, orbit = angle + planet.at;
        motion = planet.bevel ? across(own, orbit, shift, (planet.x[0] + planet.x[1]) / 2) : turned(own, shift, planet.radius, orbit);
      }
      return [thing, motion, polar(1, angle)];
    });
    // Edges come after all faces, so that those behind a face are left out early.
    for (const { program, cut, lit, at } of this.programs) {
      gl.useProgram(program); gl.uniformMatrix4fv(at.view, false, view); gl.uniform3fv(at.eye, eye);
      for (const [thing, motion, mark] of seen) {
        const faces = thing.solid && lit === (thing.kind !== PAINT), edges = !lit && thing.lines && !this.coarse;
        if (cut !== Boolean(thing.wedge) || !(faces || edges)) continue;
        gl.bindVertexArray(thing.array); gl.uniformMatrix4fv(at.motion, false, motion); gl.uniform2f(at.mark, ...mark);
        gl.uniform2f(at.hatch, thing.body % 2 ? 1 : -1, [3.3, 4.4, 2.6][(thing.body >> 1) % 3]);
        if (cut) gl.uniform4f(at.wedge, ...thing.wedge.flatMap((a) => polar(1, a)));
        if (faces) {
          gl.uniform1f(at.kind, thing.kind); gl.uniform3fv(at.colour, this.colour(thing)); gl.uniform1f(at.band, this.byRole || thing.pack || (this.focus >= 0 && this.focus !== thing.body) ? 0 : lookOf(scene.bodies[thing.body], thing.planet >= 0).band);
          gl.drawElements(gl.TRIANGLES, thing.solid, gl.UNSIGNED_INT, 0);
        }
        if (edges) {
          gl.uniform1f(at.kind, LINE); gl.uniform3fv(at.colour, this.focus >= 0 && this.focus !== thing.body ? [0.62, 0.65, 0.68] : [0.11, 0.12, 0.14]);
          gl.drawElements(gl.LINES, thing.lines, gl.UNSIGNED_INT, 4 * thing.solid);
        }
      }
    }
  }

  // A stretch of the power path lies on the upright cut face, as wide as the power in it; made anew when the range changes.
  streamed(thing) {
    const share = this.range ? this.range.widths[thing.stream] : 0;
    if (!share) return false;
    if (thing.share !== share) {
      const mesh = new Mesh(), half = 0.5 + 1.7 * share, [x0, r0] = thing.from, [x1, r1] = thing.to;
      const [a, b, c, d] = [Math.min(x0, x1) - half, Math.max(x0, x1) + half, Math.min(r0, r1) - half, Math.max(r0, r1) + half], z = 0.4;
      mesh.flat([[a, c, z], [b, c, z], [b, d, z], [a, d, z]], [0, 0, 1]);
      const place = this.things.indexOf(thing), { body, kind, stream, from, to } = thing;
      this.add(mesh, { body, kind, stream, from, to, share });
      this.things[place] = this.things.pop();
      Object.assign(thing, this.things[place]);
    }
    return true;
  }

  // A place in mm to fractions of the canvas.
  project(x, y, z) { return projected(this.view, x, y, z); }

  close() { this.gl.getExtension("WEBGL_lose_context")?.loseContext(); }
}
