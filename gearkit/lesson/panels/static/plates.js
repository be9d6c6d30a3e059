// The plates of elements in a stick diagram that the kernel drew once: closed, slipping or open, without asking it again.

import { svg } from "./dom.js";

// stick: the element that holds the drawing; closed, slipping: names of elements
export function showPlates(stick, closed, slipping = []) {
  for (const plates of stick.querySelectorAll("[data-plates]")) {
    if (plates.getAttribute("data-closed") !== "no") continue;
    const name = plates.getAttribute("data-plates");
    let block = plates.querySelector(".gk-block");
    const wanted = closed.includes(name) || slipping.includes(name);
    if (wanted && !block) {
      // The faces are two thick lines; their box has no thickness of its own.
      const { x, y, width, height } = plates.querySelector("[data-faces]").getBBox();
      block = svg("rect", { class: "gk-block", x, y: y - 2, width, height: height + 4, rx: 1.5 });
      plates.append(block);
    }
    if (!block) continue;
    block.style.display = wanted ? "" : "none";
    block.classList.toggle("gk-slipping", !closed.includes(name));
  }
}
