// The plates of elements in a stick diagram that the kernel drew once: closed, slipping or open, without asking it again.

import { svg } from "./dom.js";

const bounds = (values) => [Math.min(...values), Math.max(...values)];

// stick: the element that holds the drawing; closed, slipping: names of elements
export function showPlates(stick, closed, slipping = []) {
  for (const plates of stick.querySelectorAll("[data-plates]")) {
    if (plates.getAttribute("data-closed") !== "no") continue;
    const name = plates.getAttribute("data-plates");
    let block = plates.querySelector(".gk-block");
    const wanted = closed.includes(name) || slipping.includes(name);
    if (wanted && !block) {
      // The faces are two thick lines. Their ends are read from what was drawn, since a box can be asked for only of what is on the screen.
      const ends = [...plates.querySelectorAll("[data-faces] path")].flatMap((path) => path.getAttribute("d").match(/-?[\d.]+/g).map(Number));
      const [x, right] = bounds(ends.filter((_, k) => k % 2 === 0)), [y, low] = bounds(ends.filter((_, k) => k % 2));
      block = svg("rect", { class: "gk-block", x, y: y - 2, width: right - x, height: low - y + 4, rx: 1.5 });
      plates.append(block);
    }
    if (!block) continue;
    block.style.display = wanted ? "" : "none";
    block.classList.toggle("gk-slipping", !closed.includes(name));
  }
}
