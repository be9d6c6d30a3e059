// A train in three dimensions, cut open, that turns: WebGL 2, this module and its meshes, nothing else.
// The scene comes from Python (gearkit.draw.cutaway.scene): half-sections as outlines, gears as half a tooth each; both are
// spun up in solid_mesh.js, whose axes these are.

import { Mesh, addGear, chunks, polar } from "./solid_mesh.js";

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
// Each program does one thing, because software works out every branch for every point. What is cut has one of its own: only a program
// that never discards lets hidden points be left out early. Software also makes each program into machine code before the first picture
// (9 to 25 ms), so there are no more than these; edges are few points and all go through one.
const CUT = "if (wedge.x * world.z - wedge.y * world.y > 0.02 && wedge.w * world.y - wedge.z * world.z > 0.02) discard;";
const PLAIN = "shade = vec4(colour, 1.0);";
const HATCHED = `
  float r = length(world.yz), line = abs(fract((world.x + hatch.x * r) / hatch.y) - 0.5) * 2.0;
  if (band > 0.0) line = min(line, abs(fract((world.x - hatch.x * r) / hatch.y) - 0.5) * 2.0);
  shade = vec4(kind == 4.0 ? colour : mix(colour * 0.62, mix(colour, vec3(1.0), 0.55), smoothstep(0.10, 0.28, line)), 1.0);`;
const MARKED = `
  if (kind == 3.0) {
    vec2 q = vec2(world.y * mark.x + world.z * mark.y, world.z * mark.x - world.y * mark.y);
    float third = q.x < 0.0 ? min(abs(0.866 * q.x - 0.5 * q.y), abs(0.866 * q.x + 0.5 * q.y)) : 9.0;
    if (q.x > 0.0 && abs(q.y) < 1.5) base = vec3(1.0); else if (third < 0.5) base = mix(base, vec3(1.0), 0.5);
  }`;
const LIT = (marked) => `
  vec3 base = colour;
  if (band > 0.0 && fract((world.x + length(world.yz)) / band) < 0.4) base *= 0.5;
  ${marked}
  vec3 n = normalize(facing), to = normalize(eye - world), sun = vec3(-0.46, 0.62, 0.636);
  float lit = dot(n, sun), seen = dot(n, to), light = 0.58 + 0.14 * n.y + 0.06 * n.z + 0.33 * max(lit, 0.0) + 0.10 * max(seen, 0.0);
  // The square of the cosine between the face and the direction halfway between sun and eye, both 1 long; to the power of 16.
  float gloss = max(lit + seen, 0.0);
  gloss *= gloss / (2.0 + 2.0 * dot(sun, to)); gloss *= gloss; gloss *= gloss; gloss *= gloss; gloss *= gloss;
  shade = vec4(base * light + vec3(0.16) * gloss, 1.0);`;
const fragment = (...parts) => `#version 300 es
precision highp float;
in vec3 world, facing; uniform vec3 colour, eye; uniform vec2 mark, hatch; uniform vec4 wedge; uniform highp float kind, band; out vec4 shade;
void main() {
  ${parts.join("\n  ")}
}`;
// Section faces and paint, other faces, those of them that are cut, and after them all edges, so that those behind a face are left out early.
const PROGRAMS = [
  { text: fragment(HATCHED), draws: (thing) => thing.kind === FACE || thing.kind === PAINT },
  { text: fragment(LIT(MARKED)), draws: (thing) => (thing.kind === SURFACE || thing.kind === MANTLE) && !thing.wedge },
  { text: fragment(CUT, LIT("")), draws: (thing) => thing.wedge },
  { text: fragment(CUT, PLAIN), edges: true },
];
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

// Whether edges are smoothed: null until the first canvas told whether there is a graphics card. Where there is none, smooth edges
// cost as much again as the whole picture, and a canvas of its own to find that out costs as much as some of the shaders.
let smooth = null;

function contextOn(canvas) {
  const gl = canvas.getContext("webgl2", { antialias: smooth === true, alpha: true });
  if (!gl) throw new Error("This browser shows no WebGL 2");
  return gl;
}

function drawnBySoftware(gl) {
  const told = gl.getExtension("WEBGL_debug_renderer_info");
  return /swiftshader|llvmpipe|software|basic render/i.test(gl.getParameter(told ? told.UNMASKED_RENDERER_WEBGL : gl.RENDERER) ?? "");
}

export class SolidView {
  // newCanvas(): makes the canvas; it is called again where the first one turns out to have a graphics card.
  constructor(newCanvas, scene) {
    let canvas = newCanvas(), gl = contextOn(canvas);
    if (smooth === null) {
      smooth = !drawnBySoftware(gl);
      if (smooth) { gl.getExtension("WEBGL_lose_context")?.loseContext(); canvas = newCanvas(); gl = contextOn(canvas); }
    }
    Object.assign(this, { gl, canvas, scene, ...HOME, apart: 0, byRole: false, focus: -1, turns: 0, coarse: false });
    this.engaged = new Set(); this.range = null; this.things = [];
    this.spins = spinsOf(scene);
    this.setSpeeds(scene.bodies.map(() => 0));
    this.compile();
    const middle = ({ faces }) => { let area = 0, sum = 0; for (const [a, b, c, d] of chunks(faces, 4)) { area += (b - a) * (d - c); sum += (a + b) / 2 * (b - a) * (d - c); } return area ? sum / area : 0; };
    this.order = scene.bodies.map((_, k) => k).sort((a, b) => middle(scene.bodies[a]) - middle(scene.bodies[b]));
  }

  // Points and triangles are made for the first picture: of a train that nobody scrolls to, none are.
  build() {
    const { gl, scene } = this, mesh = this.mesh = new Mesh();
    this.firstDrawn();
    this.alike = new Map();
    this.square = (mesh.flat([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], [0, 0, 1]), mesh.part());
    scene.bodies.forEach((body, number) => this.addBody(body, number));
    scene.planets.forEach((planet, number) => this.addPlanet(planet, number));
    scene.packs.forEach((pack) => this.addPack(pack));
    this.givePoints(mesh.points.all);
    const corners = new Uint32Array(mesh.solid.size + mesh.lines.size);
    corners.set(mesh.solid.all); corners.set(mesh.lines.all, mesh.solid.size);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer()); gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, corners, gl.STATIC_DRAW);
    this.edgesAt = mesh.solid.size;
    this.mesh = null;
    for (const each of this.programs) {
      if (!gl.getProgramParameter(each.program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(each.program));
      each.at = Object.fromEntries(UNIFORMS.map((name) => [name, gl.getUniformLocation(each.program, name)]));
    }
    this.built = true;
  }

  compile() {
    const { gl } = this;
    this.programs = PROGRAMS.map((each) => {
      const program = gl.createProgram();
      for (const [type, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, each.text]]) {
        const shader = gl.createShader(type);
        gl.shaderSource(shader, text); gl.compileShader(shader); gl.attachShader(program, shader);
      }
      ["place", "normal"].forEach((name, k) => gl.bindAttribLocation(program, k, name));
      gl.linkProgram(program);
      return { ...each, program };
    });
    // What is not sent off waits until an answer is asked for; sent off, it is compiled beside the page's own work.
    gl.flush();
  }

  // Every program draws a point's breadth: its machine code is made by that, while the points of the train are worked out here.
  firstDrawn() {
    const { gl } = this;
    gl.enable(gl.DEPTH_TEST); gl.enable(gl.CULL_FACE);
    this.givePoints(new Float32Array(18));
    for (const { program, edges } of this.programs) { gl.useProgram(program); gl.drawArrays(edges ? gl.LINES : gl.TRIANGLES, 0, edges ? 2 : 3); }
    gl.flush();
  }

  givePoints(points) {
    const { gl } = this;
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer()); gl.bufferData(gl.ARRAY_BUFFER, points, gl.STATIC_DRAW);
    for (const k of [0, 1]) { gl.enableVertexAttribArray(k); gl.vertexAttribPointer(k, 3, gl.FLOAT, false, 24, 12 * k); }
  }

  // What was made last, with what it is: { body, kind } and, where it moves with it, moves: true; planet, pack or stream by number.
  add(about) {
    const part = this.mesh.part();
    if (part.solid || part.lines) this.things.push({ ...part, ...about });
  }

  addBody(part, body) {
    const wedge = part.hue === "housing" ? CASING_WEDGE : WEDGE, { flanks, depth } = this.scene;
    const pieces = chunks(part.edges, 5), faces = chunks(part.faces, 4), { mesh } = this;
    for (const gear of this.scene.wheels.filter((each) => each.body === body)) {
      const pitch = gear.module * gear.teeth / 2, internal = gear.flank.startsWith("-"), root = pitch + (internal ? 1.25 : -1.25) * gear.module;
      addGear(mesh, gear, flanks, gear.angle, gear.cone ? 0.5 * pitch : root + (internal ? 0.3 : -0.3), gear.cone, depth);
      this.add({ body, kind: SURFACE, moves: true, wedge });
      if (!gear.cone) faces.push([...gear.x, Math.min(root, pitch), Math.max(root, pitch)]);
    }
    for (const piece of pieces) mesh.revolve(piece, wedge);
    // A body of revolution need not turn: only its paint marks do.
    this.add({ body, kind: part.hue === "housing" ? SURFACE : MANTLE });
    wedge.forEach((angle, k) => { mesh.cut(faces, angle, k ? -1 : 1); mesh.edges(pieces, angle); });
    this.add({ body, kind: FACE });
    for (const [owner, radius, at, size, x0, x1, inner] of this.scene.pins) {
      if (owner !== body) continue;
      const [y, z] = polar(1, at), x = (x0 + x1) / 2;
      if (inner === undefined) mesh.rod((t, a) => [t ? x1 + 0.8 : x0 - 0.8, radius * y + size * Math.cos(a), radius * z + size * Math.sin(a)], [1, 0, 0]);
      else mesh.rod((t, a) => { const r = t ? radius : inner, w = size * Math.sin(a); return [x + size * Math.cos(a), r * y - w * z, r * z + w * y]; }, [0, y, z]);
    }
    this.add({ body, kind: SURFACE, moves: true });
    this.scene.lines.forEach(([owner, x0, r0, x1, r1], stream) => {
      if (owner === body) this.things.push({ ...this.square, body, kind: PAINT, stream, low: [Math.min(x0, x1), Math.min(r0, r1)], high: [Math.max(x0, x1), Math.max(r0, r1)] });
    });
  }

  addPlanet(planet, number) {
    const { teeth, module, x, flank, radius, carrier: body } = planet, key = JSON.stringify([teeth, module, x, flank, planet.bevel && radius]);
    // The planets of a set are alike and differ in where they are.
    if (!this.alike.has(key)) this.alike.set(key, this.planetParts(planet));
    const [gear, paint] = this.alike.get(key);
    this.things.push({ ...gear, body, planet: number, kind: SURFACE }, { ...paint, body, planet: number, kind: PAINT });
  }

  planetParts(planet) {
    const { mesh, scene: { flanks, depth } } = this, bevel = Boolean(planet.bevel), pitch = planet.module * planet.teeth / 2;
    addGear(mesh, planet, flanks, 0, bevel ? 2 : 3.3, bevel ? [0, planet.radius] : null, depth);
    const gear = mesh.part();
    // Its paint mark: a stripe from the pin to one tooth, on both faces.
    for (const x of bevel ? [planet.radius + 0.2] : [planet.x[0] - 0.05, planet.x[1] + 0.05]) mesh.flat([[x, 3.4, -0.7], [x, pitch - planet.module, -0.7], [x, pitch - planet.module, 0.7], [x, 3.4, 0.7]], [x === planet.x[0] - 0.05 ? -1 : 1, 0, 0]);
    return [gear, mesh.part()];
  }

  addPack(pack) {
    for (const [which, body] of [["inner", pack.bodies[0]], ["outer", pack.bodies[1]]]) {
      const { mesh } = this;
      for (const [x0, x1, r0, r1] of chunks(pack[which], 4)) {
        const pieces = [[x0, r0, x0, r1, -1], [x1, r0, x1, r1, 1], [x0, r0, x1, r0, -1], [x0, r1, x1, r1, 1]];
        // Plates are many; they may be less round.
        for (const piece of pieces) mesh.revolve(piece, WEDGE, 0.6);
        WEDGE.forEach((angle, k) => { mesh.cut([[x0, x1, r0, r1]], angle, k ? -1 : 1); mesh.edges(pieces, angle); });
      }
      this.add({ body, pack: pack.name, inner: which === "inner", kind: SURFACE });
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
    if (thing.pack) c = rgb(this.engaged.has(thing.pack) ? APPLIED : thing.inner ? OPEN_INNER : OPEN_OUTER);
    else if (this.byRole && part.hue !== "housing") c = rgb(ROLES[this.range ? this.range.roles[thing.body] : this.speeds[thing.body] ? "m" : "s"]);
    return away ? paler(rgb(FAINT), 0.2) : this.byRole && thing.planet >= 0 ? paler(c, 0.42) : c;
  }

  // How far away the eye is for the whole train to be in the picture as it is looked at first; it does not change with the side.
  distance(aspect) {
    if (this.away?.apart !== this.apart || this.away.aspect !== aspect) this.away = { apart: this.apart, aspect, mm: this.farEnough(aspect) };
    return this.away.mm;
  }

  farEnough(aspect) {
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
    if (!this.built) this.build();
    const { gl, canvas, scene } = this, sharp = Math.min(2, devicePixelRatio || 1) * (this.coarse ? 0.5 : 1);
    const [w, h] = [canvas.clientWidth, canvas.clientHeight].map((size) => Math.max(1, Math.round(size * sharp)));
    if (canvas.width !== w || canvas.height !== h) Object.assign(canvas, { width: w, height: h });
    const [x0, x1] = scene.length;
    const { view, eye } = camera(this.yaw, this.pitch, this.distance(w / h) / this.zoom, w / h, [(x0 + x1) / 2, 0, 0]), { bodies, planets } = turnsOf(scene, this.spins, this.speeds, this.turns);
    this.view = view;
    gl.viewport(0, 0, w, h); gl.clearColor(0, 0, 0, 0); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const seen = this.things.filter((thing) => thing.stream === undefined || this.share(thing)).map((thing) => {
      const shift = this.shift(thing.body), angle = TURN * bodies[thing.body], planet = scene.planets[thing.planet];
      let motion = turned(thing.moves ? angle : 0, shift);
      if (thing.stream !== undefined) motion = this.stretch(thing, shift);
      if (planet) {
        const own = TURN * planets[thing.planet] + planet.angle, orbit = angle + planet.at;
        motion = planet.bevel ? across(own, orbit, shift, (planet.x[0] + planet.x[1]) / 2) : turned(own, shift, planet.radius, orbit);
      }
      return [thing, motion, polar(1, angle)];
    });
    for (const { program, draws, edges, at } of this.programs) {
      gl.useProgram(program); gl.uniformMatrix4fv(at.view, false, view); gl.uniform3fv(at.eye, eye);
      if (edges) gl.uniform1f(at.kind, LINE);
      for (const [thing, motion, mark] of seen) {
        if (edges ? this.coarse || !thing.lines : !thing.solid || !draws(thing)) continue;
        gl.uniformMatrix4fv(at.motion, false, motion);
        gl.uniform4fv(at.wedge, thing.wedge?.flatMap((a) => polar(1, a)) ?? [0, 0, 0, 0]);
        const away = this.focus >= 0 && this.focus !== thing.body;
        if (edges) {
          gl.uniform3fv(at.colour, away ? [0.62, 0.65, 0.68] : [0.11, 0.12, 0.14]);
          gl.drawElements(gl.LINES, thing.lines, gl.UNSIGNED_INT, 4 * (this.edgesAt + thing.linesAt));
          continue;
        }
        gl.uniform1f(at.kind, thing.kind); gl.uniform3fv(at.colour, this.colour(thing)); gl.uniform2f(at.mark, ...mark);
        gl.uniform2f(at.hatch, thing.body % 2 ? 1 : -1, [3.3, 4.4, 2.6][(thing.body >> 1) % 3]);
        gl.uniform1f(at.band, this.byRole || thing.pack || away ? 0 : lookOf(scene.bodies[thing.body], thing.planet >= 0).band);
        gl.drawElements(gl.TRIANGLES, thing.solid, gl.UNSIGNED_INT, 4 * thing.solidAt);
      }
    }
  }

  // How much of the power goes through a stretch of its path.
  share({ stream }) { return this.range ? this.range.widths[stream] : 0; }

  // A stretch of the power path lies on the upright cut face, as wide as the power in it: a square that is drawn out.
  stretch(thing, shift) {
    const half = 0.5 + 1.7 * this.share(thing), [wide, high] = thing.low.map((low, k) => thing.high[k] - low + 2 * half);
    return [wide, 0, 0, 0, 0, high, 0, 0, 0, 0, 1, 0, thing.low[0] - half + shift, thing.low[1] - half, 0.4, 1];
  }

  // A place in mm to fractions of the canvas.
  project(x, y, z) { return projected(this.view, x, y, z); }

  close() { this.gl.getExtension("WEBGL_lose_context")?.loseContext(); }
}
