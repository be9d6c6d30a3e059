"""XML as QTI 3.0 names it, and the same in the names of QTI 2.1.

Names of elements and attributes: 1EdTech, Question and Test Interoperability (QTI) Assessment, Section and Item Information
Model, versions 3.0 and 2.1 (from memory; the tests hold a list of what is used here).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from xml.etree import ElementTree as ET

from graders.packages.formulas import in_one_line

NAMESPACES = {"3.0": "http://www.imsglobal.org/xsd/imsqtiasi_v3p0", "2.1": "http://www.imsglobal.org/xsd/imsqti_v2p1"}
_ALLOWED_IN_XML = re.compile(r"[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def element(name: str, attributes: Mapping[str, str] | None = None, *children: ET.Element, text: str = "") -> ET.Element:
    """Return an element with its children.

    Args:
        name: as in QTI 3.0, such as "qti-value", or an element of a page.
        attributes: its attributes; characters that XML cannot hold are left out.
        children: in order.
        text: what stands in front of the children.
    """
    made = ET.Element(name, {key: plain(value) for key, value in (attributes or {}).items()})
    made.text = plain(text) or None
    made.extend(children)
    return made


def plain(text: str) -> str:
    """Return a text without the characters that XML cannot hold.

    Args:
        text: any text.
    """
    return _ALLOWED_IN_XML.sub("", text)


def value(number: str, base_type: str = "float") -> ET.Element:
    """Return a fixed value for the processing of responses.

    Args:
        number: the value as text.
        base_type: "float" or "identifier".
    """
    return element("qti-base-value", {"base-type": base_type}, text=number)


def variable(name: str) -> ET.Element:
    """Return what was answered, or an outcome, by its name.

    Args:
        name: of a response or an outcome.
    """
    return element("qti-variable", {"identifier": name})


def page_part(markup: str) -> list[ET.Element]:
    """Return the elements of a piece of a page, its formulas in one line each.

    Args:
        markup: well-formed, as `gearkit.text.markdown` writes it.
    """
    page = ET.fromstring(f"<div>{plain(markup)}</div>")
    for parent in list(page.iter()):
        parent[:] = [in_one_line(child) if child.tag == "math" else child for child in parent]
    return list(page)


def text_of(root: ET.Element, version: str) -> str:
    """Return an item or a test as the text of its file.

    Args:
        root: with the names of version 3.0.
        version: "3.0" or "2.1".
    """
    if version == "2.1":
        _rename(root)
    root.set("xmlns", NAMESPACES[version])
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode")


def _rename(root: ET.Element) -> None:
    """Give elements and attributes the names of version 2.1: itemBody for qti-item-body, responseIdentifier and so on."""
    for parent in root.iter():
        if parent.tag == "qti-modal-feedback":
            # The older version has no element around the words.
            inner = list(parent[0])
            parent.remove(parent[0])
            parent.extend(inner)
    for each in root.iter():
        qti = each.tag.startswith("qti-")
        each.tag = _camel(each.tag.removeprefix("qti-")) if qti else each.tag
        if qti:
            renamed = {_camel(name) if not name.startswith("xml:") else name: text for name, text in each.attrib.items()}
            each.attrib.clear()
            each.attrib.update(renamed)


def _camel(name: str) -> str:
    first, *others = name.split("-")
    return first + "".join(word.capitalize() for word in others)
