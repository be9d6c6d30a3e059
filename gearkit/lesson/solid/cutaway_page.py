"""A page with the live cutaway that stands alone: one file, no server, no kernel, nothing fetched."""

from __future__ import annotations

import json
from html import escape
from pathlib import Path

from gearkit.draw.cutaway.solid_placement import solid_placement
from gearkit.lesson.panels.bundle import script, style
from gearkit.lesson.solid.cutaway_panel import CutawayPanel
from gearkit.text.files import write_asked
from gearkit.train.drivers import refuse_several
from gearkit.train.layout import Layout
from gearkit.words.say import page_language, say

# Without a kernel the panel's state lives in the page alone.
_MODEL = """\
class Model {
  constructor(state) { this.state = state; this.heard = []; }
  get(name) { return this.state[name]; }
  set(name, value) {
    if (JSON.stringify(this.state[name]) === JSON.stringify(value)) return;
    this.state[name] = value;
    for (const [event, act] of [...this.heard]) if (event === `change:${name}`) act();
  }
  save_changes() {}
  send() {}
  on(event, act) { this.heard.push([event, act]); }
  off(event, act) { this.heard = this.heard.filter(([name, other]) => name !== event || other !== act); }
}
panel.render({ model: new Model(JSON.parse(document.getElementById("state").textContent)), el: document.getElementById("place") });"""


def page(layout: Layout, range_name: str | None = None) -> str:
    """Return the page as HTML.

    Args:
        layout: any layout.
        range_name: the range that is applied to begin with; the first one when None.

    Raises:
        UsageError: the layout has no such range, or several drivers, which the cutaway cannot show.
        NotSolidError: the bodies would have to pass through each other.
    """
    refuse_several(layout, say("the cutaway"))
    solid_placement(layout)
    engaged = layout.engaged_in(range_name) if range_name is not None else layout.ranges[0].engaged if layout.ranges else ()
    panel = CutawayPanel(layout, title=say("Cutaway: {layout}", layout=layout.said_name), engaged=list(engaged))
    state = {
        name: value
        for name, value in panel.get_state().items()
        if not name.startswith("_") and name not in ("layout", "tabbable", "tooltip")
    }
    told = escape(panel.words())
    title = say("{name}, cut open", name=layout.said_name)
    data = json.dumps(state, separators=(",", ":")).replace("<", "\\u003c")
    code = script("cutaway_panel").replace("export default ", "const panel = ").replace("</script", "<\\/script")
    return (
        f'<!DOCTYPE html>\n<html lang="{page_language()}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{escape(title)}</title><style>body{{margin:12px;background:#fff}}{style()}</style></head>\n"
        f'<body><main id="place"></main><noscript><p>{told}</p>{panel.pictures()[0]}</noscript>\n'
        f'<script type="application/json" id="state">{data}</script>\n<script type="module">{code}\n{_MODEL}</script></body></html>\n'
    )


def write_page(layout: Layout, path: Path, range_name: str | None = None) -> None:
    """Write the page to a file.

    Args:
        layout: any layout.
        path: the file, ending in .html; folders on the way to it are made where they are missing.
        range_name: as in `page`.

    Raises:
        UsageError: no such range, or the file cannot be written.
        NotSolidError: as in `page`.
    """
    text = page(layout, range_name)
    write_asked(path, text)
