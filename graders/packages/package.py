"""A package of items by the open standard QTI: one zip with the items, their pictures, a test that lists them, a manifest.

1EdTech, QTI 3.0 Assessment, Section and Item Binding, and IMS Content Packaging 1.1 (names from memory; the tests read the
package back with a reader of their own and with another library's converter).
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree as ET

from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.listing import title_of
from gearkit.draw.core.embed import words_of
from gearkit.text.files import write_atomically
from gearkit.text.phrases import listed
from gearkit.words.errors import UsageError
from graders.packages.elements import element, text_of
from graders.packages.item import NotForOtherSystemsError, item_of
from graders.sheets.pictures import drawing_for
from graders.sheets.sheets import Sheet

VERSIONS = ("3.0", "2.1")
MOST_VARIANTS = 50
_MANIFESTS = {"3.0": "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1", "2.1": "http://www.imsglobal.org/xsd/imscp_v1p1"}
_ITEM_TYPES = {"3.0": "imsqti_item_xmlv3p0", "2.1": "imsqti_item_xmlv2p1"}
_TEST_TYPES = {"3.0": "imsqti_test_xmlv3p0", "2.1": "imsqti_test_xmlv2p1"}
# A zip's own times would make two packages of the same items differ.
_TIME = (2026, 1, 1, 0, 0, 0)


@dataclass(frozen=True)
class Package:
    """What was packed.

    Args:
        items: ids of the items that are in it.
        variants: number of variants of each.
        left_out: id of an item that could not be packed -> why.
        files: names of the files in it.
    """

    items: tuple[str, ...]
    variants: int
    left_out: dict[str, str]
    files: tuple[str, ...]


def write_package(sheet: Sheet, path: Path, variants: int = 1, version: str = "3.0") -> Package:
    """Write the items of a sheet as a package for other systems.

    Args:
        sheet: the items; its rules and its due time mean nothing elsewhere.
        path: the file, ending in .zip.
        variants: how many variants of each item, 1 to 50.
        version: "3.0" or "2.1".

    Raises:
        UsageError: not a .zip, a number out of bounds, an unknown version, or no item that can be packed.
    """
    if path.suffix != ".zip":
        raise UsageError(f"{path}: a package ends in .zip, such as {path.stem or 'items'}.zip")
    if not 1 <= variants <= MOST_VARIANTS:
        raise UsageError(f"{variants} variants: give a number from 1 to {MOST_VARIANTS}.")
    if version not in VERSIONS:
        raise UsageError(f"Version {version}: expected one of {listed(VERSIONS, 'or')}.")
    files: dict[str, str] = {}
    packed: list[tuple[str, list[str]]] = []
    left_out: dict[str, str] = {}
    for entry in sheet.items:
        try:
            names = []
            for number in range(1, variants + 1):
                variant = practice(entry.item, f"package {number}")
                names.append(_add_item(files, sheet, variant, number, entry.marks, version))
        except NotForOtherSystemsError as reason:
            left_out[entry.item.id] = str(reason)
        else:
            packed.append((entry.item.id, names))
    if not packed:
        reasons = "; ".join(f"{name}: {why}" for name, why in left_out.items())
        raise UsageError(f"None of these items can be asked by other systems. {reasons}")
    files["test.xml"] = text_of(_test(sheet, packed), version)
    files["imsmanifest.xml"] = _manifest(files, version)
    write_atomically(path, _zipped(files))
    return Package(tuple(name for name, _ in packed), variants, left_out, tuple(sorted(files)))


def _add_item(files: dict[str, str], sheet: Sheet, variant: Variant, number: int, marks: int, version: str) -> str:
    identifier = f"{variant.item.id}-{number}"
    svg = drawing_for(sheet, variant)
    picture = None
    if svg:
        files[f"pictures/{identifier}.svg"] = svg
        picture = (f"../pictures/{identifier}.svg", words_of(svg) or "stick diagram")
    made = item_of(variant, identifier, f"{title_of(variant.item)} ({variant.item.id}, version {number})", picture, marks)
    files[f"items/{identifier}.xml"] = text_of(made, version)
    return identifier


def _test(sheet: Sheet, packed: Sequence[tuple[str, list[str]]]) -> ET.Element:
    """A test with a section for each item, of whose variants each learner gets one."""
    sections = []
    titles = {entry.item.id: title_of(entry.item) for entry in sheet.items}
    for name, variants in packed:
        references = [
            element("qti-assessment-item-ref", {"identifier": each, "href": f"items/{each}.xml"}) for each in variants
        ]
        select = [element("qti-selection", {"select": "1"})] if len(variants) > 1 else []
        sections.append(
            element(
                "qti-assessment-section",
                {"identifier": f"section-{name}", "title": titles[name], "visible": "false"},
                *select,
                *references,
            )
        )
    part = element(
        "qti-test-part", {"identifier": "part-1", "navigation-mode": "nonlinear", "submission-mode": "individual"}, *sections
    )
    return element("qti-assessment-test", {"identifier": "test-1", "title": sheet.title}, part)


def _manifest(files: dict[str, str], version: str) -> str:
    def file(name: str) -> ET.Element:
        return element("file", {"href": name})

    resources = []
    items = sorted(name for name in files if name.startswith("items/"))
    for name in items:
        picture = name.replace("items/", "pictures/").replace(".xml", ".svg")
        held = [file(name), *([file(picture)] if picture in files else [])]
        resources.append(
            element(
                "resource", {"identifier": f"resource-{Path(name).stem}", "type": _ITEM_TYPES[version], "href": name}, *held
            )
        )
    needed = [element("dependency", {"identifierref": f"resource-{Path(name).stem}"}) for name in items]
    resources.append(
        element(
            "resource",
            {"identifier": "resource-test", "type": _TEST_TYPES[version], "href": "test.xml"},
            file("test.xml"),
            *needed,
        )
    )
    metadata = element(
        "metadata",
        None,
        element("schema", text="QTI Package"),
        element("schemaversion", text="3.0.0" if version == "3.0" else "2.1"),
    )
    root = element(
        "manifest",
        {"xmlns": _MANIFESTS[version], "identifier": "manifest-1"},
        metadata,
        element("organizations"),
        element("resources", None, *resources),
    )
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode")


def _zipped(files: dict[str, str]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files, key=lambda each: (each != "imsmanifest.xml", each)):
            archive.writestr(zipfile.ZipInfo(name, _TIME), files[name])
    return held.getvalue()
