// Triangles and edge lines of the bodies of a train: half-sections spun round the axis, gears from half a tooth, pins.
// Axes: x along the train, y up, z to the reader; angle 0 points up and grows in the input's sense. Points are written as they are
// made, six numbers each (place and normal), because lists of lists cost most of the time before the first picture.

const TURN = 2 * Math.PI;

export const polar = (r, a) => [r * Math.cos(a), r * Math.sin(a)];
const steps = (r) => Math.max(20, Math.min(72, Math.round(14 + r * 0.75)));
export const chunks = (list, size) => Array.from({ length: list.length / size }, (_, k) => list.slice(size * k, size * k + size));

// Numbers that are added one after the other.
class Row {
  constructor(Kind, size) { this.held = new Kind(size); this.size = 0; }

  get all() { return this.held.subarray(0, this.size); }

  // Where so many more begin.
  more(count) {
    const at = this.size;
    this.size += count;
    if (this.size > this.held.length) { const larger = new this.held.constructor(2 * this.size); larger.set(this.held); this.held = larger; }
    return at;
  }
}

// Triangles and edge lines of a whole train, in one piece: handed over thing by thing they took 22 of the 130 ms of script before the first picture.
export class Mesh {
  constructor() {
    this.points = new Row(Float32Array, 6 << 14); this.solid = new Row(Uint32Array, 3 << 15); this.lines = new Row(Uint32Array, 1 << 15);
    this.count = 0;
    this.made = { solid: 0, lines: 0 };
  }

  // What was added since it was asked last: where its corners begin and how many they are.
  part() {
    const { solid, lines } = this.made;
    this.made = { solid: this.solid.size, lines: this.lines.size };
    return { solidAt: solid, solid: this.solid.size - solid, linesAt: lines, lines: this.lines.size - lines };
  }

  point(x, y, z, nx, ny, nz) {
    const at = this.points.more(6), p = this.points.held;
    p[at] = x; p[at + 1] = y; p[at + 2] = z; p[at + 3] = nx; p[at + 4] = ny; p[at + 5] = nz;
    this.count += 1;
    return this.count - 1;
  }

  // Turned so that its front looks along its normals; of four corners two may be one.
  quad(a, b, c, d) {
    const p = this.points.held, at = this.solid.more(6), t = this.solid.held, i = 6 * a, x = p[i], y = p[i + 1], z = p[i + 2], nx = p[i + 3], ny = p[i + 4], nz = p[i + 5];
    const bx = p[6 * b] - x, by = p[6 * b + 1] - y, bz = p[6 * b + 2] - z, cx = p[6 * c] - x, cy = p[6 * c + 1] - y, cz = p[6 * c + 2] - z;
    const dx = p[6 * d] - x, dy = p[6 * d + 1] - y, dz = p[6 * d + 2] - z;
    const sense = (by * cz - bz * cy + cy * dz - cz * dy) * nx + (bz * cx - bx * cz + cz * dx - cx * dz) * ny + (bx * cy - by * cx + cx * dy - cy * dx) * nz;
    const [second, third, fourth] = sense >= 0 ? [b, c, d] : [d, c, b];
    t[at] = a; t[at + 1] = second; t[at + 2] = third; t[at + 3] = a; t[at + 4] = third; t[at + 5] = fourth;
  }

  flat(corners, [nx, ny, nz]) {
    const [a, b, c, d] = corners.map(([x, y, z]) => this.point(x, y, z, nx, ny, nz));
    this.quad(a, b, c, d);
  }

  line(from, to) { const at = this.lines.more(2); this.lines.held[at] = from; this.lines.held[at + 1] = to; }

  // Edges are drawn without light, so they may share the points of faces.
  edge(ids, closed) { ids.forEach((id, k) => { if (k || closed) this.line(ids[(k + ids.length - 1) % ids.length], id); }); }

  // One piece of an outline round the axis, all of it but the wedge.
  revolve([x0, r0, x1, r1, outward], [from, to], finer = 1) {
    const all = TURN - (to - from), count = Math.ceil(finer * steps(Math.max(r0, r1)) * all / TURN), face = x0 === x1, first = this.count;
    for (let k = 0; k <= count; k += 1) {
      const a = to + all * k / count, c = Math.cos(a), s = Math.sin(a), n = face ? 0 : outward;
      this.point(x0, r0 * c, r0 * s, face ? outward : 0, n * c, n * s);
      this.point(x1, r1 * c, r1 * s, face ? outward : 0, n * c, n * s);
    }
    for (let k = 0, at = first; k < count; k += 1, at += 2) {
      this.quad(at, at + 1, at + 3, at + 2);
      if (!face) { this.line(at, at + 2); this.line(at + 1, at + 3); }
    }
  }

  // A cut face at an angle: the half-section itself.
  cut(faces, angle, side) {
    const [c, s] = polar(1, angle), normal = [0, -s * side, c * side];
    for (const [x0, x1, r0, r1] of faces) this.flat([[x0, r0], [x1, r0], [x1, r1], [x0, r1]].map(([x, r]) => [x, r * c, r * s]), normal);
  }

  edges(pieces, angle) {
    const [c, s] = polar(1, angle);
    for (const [x0, r0, x1, r1] of pieces) this.edge([this.point(x0, r0 * c, r0 * s, 0, 0, 1), this.point(x1, r1 * c, r1 * s, 0, 0, 1)], false);
  }

  // place(t, a): a point on the rod's mantle, t along it (0 or 1), a round it; along: its direction
  rod(place, along) {
    const count = 16, rings = [0, 1].map((t) => Array.from({ length: count }, (_, k) => place(t, TURN * k / count)));
    const mantles = rings.map((ring, end) => {
      const centre = [0, 1, 2].map((k) => ring.reduce((sum, q) => sum + q[k], 0) / count), normal = along.map((v) => (end ? v : -v));
      const middle = this.point(...centre, ...normal), rim = ring.map((q) => this.point(...q, ...normal));
      rim.forEach((id, k) => this.quad(middle, id, rim[(k + 1) % count], middle));
      this.edge(rim, true);
      return ring.map((q) => { const d = q.map((v, k) => v - centre[k]), size = Math.hypot(...d) || 1; return this.point(...q, ...d.map((v) => v / size)); });
    });
    for (let k = 0; k < count; k += 1) this.quad(mantles[0][k], mantles[1][k], mantles[1][(k + 1) % count], mantles[0][(k + 1) % count]);
  }

  // Teeth between two outlines of so many points a tooth (x, r and angle in lists of their own, in the sense of growing angle),
  // closed on both sides as far as the insides [x, r].
  teeth(near, far, each, insides, internal) {
    const count = near.a.length, side = Math.sign(far.x[0] - near.x[0]), start = internal ? each / 2 : 0;
    const [p, q] = [near, far].map(({ x, r, a }) => { const points = new Float64Array(3 * count); for (let k = 0; k < count; k += 1) points.set([x[k], r[k] * Math.cos(a[k]), r[k] * Math.sin(a[k])], 3 * k); return points; });
    for (let k = 0; k < count; k += 1) {
      const i = 3 * k, n = 3 * ((k + 1) % count), ex = p[n] - p[i], ey = p[n + 1] - p[i + 1], ez = p[n + 2] - p[i + 2], fx = q[i] - p[i], fy = q[i + 1] - p[i + 1], fz = q[i + 2] - p[i + 2];
      const nx = ey * fz - ez * fy, ny = ez * fx - ex * fz, nz = ex * fy - ey * fx;
      // What lies to the right of the outline's way is outside the tooth; for a ring it is the other way round.
      const sense = (ny * ez - nz * ey) * (internal ? -1 : 1) < 0 ? -1 : 1, size = Math.hypot(nx, ny, nz) * sense || 1;
      const [u, v, w] = [nx / size, ny / size, nz / size], first = this.point(p[i], p[i + 1], p[i + 2], u, v, w);
      this.point(q[i], q[i + 1], q[i + 2], u, v, w); this.point(q[n], q[n + 1], q[n + 2], u, v, w); this.point(p[n], p[n + 1], p[n + 2], u, v, w);
      this.quad(first, first + 1, first + 2, first + 3);
    }
    // An end face is for each tooth its two flanks joined point by point, and a strip down to the inside; a ring's tooth lies between two spaces.
    for (const [outline, a, [x, r], facing] of [[p, near.a, insides[0], -side], [q, far.a, insides[1], side]]) {
      const rim = new Array(count), foot = (k) => this.point(x, r * Math.cos(a[k]), r * Math.sin(a[k]), facing, 0, 0);
      for (let k = 0; k < count; k += 1) rim[k] = this.point(outline[3 * k], outline[3 * k + 1], outline[3 * k + 2], facing, 0, 0);
      let before = foot(start % count);
      const very = before;
      for (let k = start; k < count + start; k += each) {
        for (let j = 0; j < each / 2 - 1; j += 1) this.quad(rim[(k + j) % count], rim[(k + each - 1 - j) % count], rim[(k + each - 2 - j) % count], rim[(k + j + 1) % count]);
        const [low, high, next] = [k, k + each - 1, k + each].map((at) => rim[at % count]), up = foot((k + each - 1) % count), last = k + each === count + start ? very : foot((k + each) % count);
        this.quad(low, high, up, before); this.quad(high, next, last, up);
        before = last;
      }
      this.edge(rim, true);
    }
  }
}

// The teeth of a spur gear or of a cone (apex and large end on its axis; depth: where the teeth end towards the apex): all of them
// from half a tooth (of a ring: half a space), point by point its height over the pitch circle and its angle.
export function addGear(mesh, gear, flanks, turned, inside, cone, depth) {
  const pitch = gear.module * gear.teeth / 2, internal = gear.flank.startsWith("-"), half = flanks[gear.flank], each = half.length, count = each * gear.teeth;
  const h = new Float64Array(count), a = new Float64Array(count);
  for (let k = 0; k < count; k += 1) {
    const j = k % each, at = j < each / 2 ? 2 * j : 2 * (each - 1 - j), middle = TURN * ((k - j) / each) / gear.teeth + turned;
    h[k] = half[at] * gear.module;
    a[k] = j < each / 2 ? middle - half[at + 1] : middle + half[at + 1];
  }
  if (!cone) {
    const r = h.map((v) => pitch + v), on = (x) => ({ x: new Float64Array(count).fill(x), r, a });
    mesh.teeth(on(gear.x[0]), on(gear.x[1]), each, gear.x.map((x) => [x, inside]), internal);
    return;
  }
  const [apex, large] = cone, reach = Math.hypot(large - apex, pitch), way = Math.sign(apex - large);
  const big = { x: h.map((v) => large + way * v * pitch / reach), r: h.map((v) => pitch + v * Math.abs(large - apex) / reach), a };
  const small = { x: big.x.map((x) => apex + depth * (x - apex)), r: big.r.map((r) => depth * r), a };
  const back = large - way * 1.25 * gear.module * pitch / reach;
  mesh.teeth(big, small, each, [[back, inside], [apex + depth * (back - apex), Math.min(inside, depth * pitch * 0.6)]], false);
}
