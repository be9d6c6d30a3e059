// The names in the picture of a solid train: of its elements, its sets and its ends; they follow their bodies and stay apart.
// Those of sets stand below the bodies, each at a line to its set, and those of ends beyond them, so that no body lies under them.

import { html } from "./dom.js";
import { memberLabel } from "./members.js";

const GAP = 4;

function within(place, size, whole) { return Math.min(Math.max(place, size / 2), Math.max(size / 2, whole - size / 2)); }

// Names that would cover each other: one goes aside or up, whichever is less, until both can be read.
function keepApart(tags) {
  const placed = [];
  for (const tag of [...tags].sort((a, b) => b.at[1] - a.at[1])) {
    for (const other of placed) {
      const [across, down] = [0, 1].map((k) => (tag.size[k] + other.size[k]) / 2 - Math.abs(tag.at[k] - other.at[k]));
      if (across <= 0 || down <= 0) continue;
      const above = other.at[1] - (tag.size[1] + other.size[1]) / 2;
      // Never out of the picture at its upper edge.
      if (across < down || above < tag.size[1] / 2) tag.at[0] += tag.at[0] < other.at[0] ? -across : across;
      else tag.at[1] = above;
    }
    placed.push(tag);
    placed.sort((a, b) => b.at[1] - a.at[1]);
  }
}

export class NameTags {
  constructor(stage, scene) {
    this.tags = [
      ...scene.packs.map((pack) => ({ text: pack.name, x: (pack.x[0] + pack.x[1]) / 2, y: pack.r[1] + 3, z: 0, body: pack.bodies[0], element: true })),
      ...scene.sets.map(([text, x]) => ({ text, x, y: 0, z: scene.ring * 1.1, body: -1, below: true })),
      // Of a wide tube the name stands at its upper edge, where the cut face is.
      ...scene.ends.map(([name, body, x, r]) => ({ text: memberLabel(name), x, y: r > 12 ? r : 0, z: 0, body, out: x < scene.case[1] / 2 ? -1 : 1 })),
    ];
    for (const tag of this.tags) {
      tag.node = html("span", { class: tag.element ? "gk-tag gk-tag-element" : "gk-tag", "aria-hidden": "true" }, tag.text);
      if (tag.below) stage.append(tag.line = html("span", { class: "gk-tag-line", "aria-hidden": "true" }));
      stage.append(tag.node);
    }
  }

  // applied: names of elements; focus: the body in colour, -1 for all
  mark(applied, focus) {
    for (const tag of this.tags) {
      tag.node.classList.toggle("gk-tag-on", Boolean(tag.element) && applied.includes(tag.text));
      tag.node.classList.toggle("gk-tag-away", focus >= 0 && tag.body >= 0 && tag.body !== focus);
    }
  }

  // view: as it was drawn last, on so many pixels
  place(view, wide, high) {
    for (const tag of this.tags) {
      const x = tag.x + (tag.body < 0 ? 0 : view.shift(tag.body));
      const [u, v] = view.project(x, tag.y, tag.z);
      tag.size ??= [tag.node.offsetWidth, tag.node.offsetHeight];
      const aside = tag.out ? Math.sign(view.project(x + tag.out, tag.y, tag.z)[0] - u) * (tag.size[0] / 2 + GAP) : 0;
      tag.point = [u * wide, v * high];
      tag.at = [within(tag.point[0] + aside, tag.size[0], wide), within(tag.below ? high : tag.point[1], tag.size[1], high)];
    }
    keepApart(this.tags);
    for (const { node, line, point, at: [x, y] } of this.tags) {
      node.style.transform = `translate(-50%,-50%) translate(${x.toFixed(1)}px,${y.toFixed(1)}px)`;
      if (!line) continue;
      const [across, down] = [x - point[0], y - point[1]];
      line.style.width = `${Math.hypot(across, down).toFixed(1)}px`;
      line.style.transform = `translate(${point[0].toFixed(1)}px,${point[1].toFixed(1)}px) rotate(${Math.atan2(down, across).toFixed(3)}rad)`;
    }
  }
}
