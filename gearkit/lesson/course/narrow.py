"""What the notebook's own parts need where a page is narrow: folded cells show their whole line, wide results fade at the edge.

The panels' own style does the same inside panels, and tells the browser what the two lengths of fading edges are.
"""

from __future__ import annotations

# JupyterLab keeps room for a number beside a folded cell where every other cell has it above. In prose what is too wide moves by
# itself, so that no words round it fade.
STYLE = (
    "<style>@media (max-width:760px){.jp-InputPlaceholder .jp-Placeholder-prompt{display:none}"
    ".jp-InputPlaceholder :is(.jp-Placeholder-content,.jp-Placeholder-contentContainer,.jp-PlaceholderText){min-width:0}"
    ".jp-InputPlaceholder .jp-PlaceholderText{white-space:normal}"
    '.jp-MarkdownOutput :is(table,mjx-container[display="true"]){display:block;overflow:auto hidden;max-width:100%}'
    ".jp-MarkdownOutput table{width:fit-content}"
    '.jp-MarkdownOutput mjx-container[display="true"]{padding:4px 0}}'
    "@supports (animation-timeline:scroll(self inline)){"
    ':is(.jp-MarkdownOutput :is(table,mjx-container[display="true"]),.jp-RenderedHTML.jp-OutputArea-output,.jp-RenderedHTML>[tabindex])'
    "{animation:gk-more linear both;animation-timeline:scroll(self inline);mask-image:linear-gradient("
    "to right,#0004,#000 var(--gk-left,0px),#000 calc(100% - var(--gk-right,0px)),#0004)}}</style>"
)
