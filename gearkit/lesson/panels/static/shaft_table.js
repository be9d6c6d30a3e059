// A table of the shafts of a train, one row each, and the speeds that a panel puts into it.

import { html, setText } from "./dom.js";
import { memberLabel } from "./members.js";
import { say } from "./words.js";

export class ShaftTable {
  // columns: headings after the first; a column's cells are filled by show()
  constructor(train, caption, columns) {
    const cellOf = () => html("td", { class: "gk-number" });
    this.rows = train.shafts.map((members, number) => ({ number, members }))
      .filter(({ number, members }) => number !== train.housing || members.length > 1)
      .map(({ number, members }) => {
        const cells = columns.map(cellOf);
        // A narrow column breaks between members, not before a number or a dot.
        const label = members.filter((member) => member !== "housing").map(memberLabel).join(" · ").replaceAll(/ (?=\d|·)/g, "\u00a0");
        return { number, cells, row: html("tr", {}, html("th", { scope: "row" }, label), ...cells) };
      });
    const head = [say("Shaft"), ...columns].map((word) => html("th", { scope: "col" }, word));
    this.table = html("table", { class: "gk-table" }, html("caption", {}, caption), html("thead", {}, html("tr", {}, ...head)),
      html("tbody", {}, ...this.rows.map(({ row }) => row)));
  }

  // told: shaft number -> a text for each column, or undefined for a column that keeps what it shows
  show(told) {
    for (const { number, cells } of this.rows) {
      told(number).forEach((text, k) => { if (text !== undefined) setText(cells[k], text); });
    }
  }
}
