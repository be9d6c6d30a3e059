"""A reader of QTI items for tests, apart from what writes them: which names may stand where, and what an answer scores.

Names of elements and attributes with where they may stand: 1EdTech, QTI 3.0 Assessment, Section and Item Information Model and
its XML binding (imsglobal.org/spec/qti/v3p0); written down from memory, only what the kit uses.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import fsum, prod
from xml.etree import ElementTree as ET

QTI = "{http://www.imsglobal.org/xsd/imsqtiasi_v3p0}"
EXPRESSIONS = {
    "qti-and",
    "qti-or",
    "qti-not",
    "qti-gte",
    "qti-lte",
    "qti-match",
    "qti-member",
    "qti-sum",
    "qti-product",
    "qti-ordered",
    "qti-is-null",
    "qti-map-response",
    "qti-variable",
    "qti-base-value",
    "qti-correct",
}
LEAVES = {"qti-variable", "qti-base-value", "qti-correct", "qti-map-response"}
INTERACTIONS = {"qti-text-entry-interaction", "qti-choice-interaction", "qti-order-interaction"}
PAGE = {
    "p",
    "span",
    "i",
    "sub",
    "sup",
    "div",
    "ul",
    "ol",
    "li",
    "strong",
    "em",
    "code",
    "table",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "img",
    "br",
}
# Element -> (attributes that must be there, attributes that may be, elements that may stand in it).
FIELDS: dict[str, tuple[set[str], set[str], set[str]]] = {
    "qti-assessment-item": (
        {"identifier", "title", "adaptive", "time-dependent"},
        {"{http://www.w3.org/XML/1998/namespace}lang"},
        {
            "qti-response-declaration",
            "qti-outcome-declaration",
            "qti-item-body",
            "qti-response-processing",
            "qti-modal-feedback",
        },
    ),
    "qti-response-declaration": (
        {"identifier", "cardinality", "base-type"},
        set(),
        {"qti-correct-response", "qti-mapping"},
    ),
    "qti-mapping": (set(), {"lower-bound", "upper-bound", "default-value"}, {"qti-map-entry"}),
    "qti-map-entry": ({"map-key", "mapped-value"}, set(), set()),
    "qti-correct-response": (set(), set(), {"qti-value"}),
    "qti-value": (set(), set(), set()),
    "qti-outcome-declaration": (
        {"identifier", "cardinality", "base-type"},
        {"normal-maximum", "normal-minimum"},
        {"qti-default-value"},
    ),
    "qti-default-value": (set(), set(), {"qti-value"}),
    "qti-item-body": (set(), set(), PAGE | INTERACTIONS),
    "qti-text-entry-interaction": ({"response-identifier"}, {"expected-length"}, set()),
    "qti-choice-interaction": ({"response-identifier", "max-choices"}, {"shuffle"}, {"qti-prompt", "qti-simple-choice"}),
    "qti-order-interaction": ({"response-identifier"}, {"shuffle"}, {"qti-prompt", "qti-simple-choice"}),
    "qti-simple-choice": ({"identifier"}, set(), PAGE),
    "qti-prompt": (set(), set(), PAGE),
    "qti-response-processing": (set(), set(), {"qti-response-condition"}),
    "qti-response-condition": (set(), set(), {"qti-response-if", "qti-response-else-if", "qti-response-else"}),
    "qti-response-else": (set(), set(), {"qti-set-outcome-value"}),
    "qti-response-if": (set(), set(), EXPRESSIONS | {"qti-set-outcome-value"}),
    "qti-response-else-if": (set(), set(), EXPRESSIONS | {"qti-set-outcome-value"}),
    "qti-set-outcome-value": ({"identifier"}, set(), EXPRESSIONS),
    "qti-variable": ({"identifier"}, set(), set()),
    "qti-correct": ({"identifier"}, set(), set()),
    "qti-map-response": ({"identifier"}, set(), set()),
    "qti-base-value": ({"base-type"}, set(), set()),
    "qti-modal-feedback": ({"outcome-identifier", "show-hide", "identifier"}, set(), {"qti-content-body"}),
    "qti-content-body": (set(), set(), PAGE),
    **{name: (set(), set(), EXPRESSIONS) for name in EXPRESSIONS - LEAVES},
}
Value = str | float | tuple[str, ...] | None


def faults(root: ET.Element) -> list[str]:
    """What an item has that the standard does not know, or lacks that it asks for."""
    found = []
    for each in root.iter():
        name = each.tag.removeprefix(QTI)
        if not each.tag.startswith(QTI):
            found.append(f"{each.tag}: in no namespace of the standard")
        elif name in FIELDS:
            needed, allowed, inside = FIELDS[name]
            found += [f"{name}: lacks {missing}" for missing in sorted(needed - set(each.attrib))]
            found += [f"{name}: has {more}" for more in sorted(set(each.attrib) - needed - allowed)]
            found += [f"{name}: holds {child.tag}" for child in each if child.tag.removeprefix(QTI) not in inside]
        elif name not in PAGE:
            found.append(f"{name}: unknown")
    declared = {each.get("identifier") for each in root.iter(f"{QTI}qti-response-declaration")}
    asked = [each.get("response-identifier") for name in INTERACTIONS for each in root.iter(QTI + name)]
    if sorted(filter(None, asked)) != sorted(filter(None, declared)):
        found.append(f"responses {sorted(map(str, declared))} are declared and {sorted(map(str, asked))} are asked for")
    for interaction in (*root.iter(f"{QTI}qti-choice-interaction"), *root.iter(f"{QTI}qti-order-interaction")):
        names = [each.get("identifier") for each in interaction.iter(f"{QTI}qti-simple-choice")]
        if len(names) < 2 or len(set(names)) < len(names):
            found.append(f"choices {names}")
    return found


@dataclass(frozen=True)
class Scored:
    """What an answer earned and which sentences it got."""

    score: float
    said: tuple[str, ...]


def most(root: ET.Element) -> float:
    """The most that can be earned."""
    return next(
        float(each.attrib["normal-maximum"])
        for each in root.iter(f"{QTI}qti-outcome-declaration")
        if each.get("identifier") == "SCORE"
    )


def right_answers(root: ET.Element) -> dict[str, Value]:
    """The answers that the item itself declares as right."""
    found: dict[str, Value] = {}
    for each in root.iter(f"{QTI}qti-response-declaration"):
        values = tuple(value.text or "" for value in each.iter(f"{QTI}qti-value"))
        single = each.get("cardinality") == "single"
        found[each.attrib["identifier"]] = (
            (float(values[0]) if each.get("base-type") == "float" else values[0]) if single else values
        )
    return found


def score(root: ET.Element, answers: Mapping[str, Value]) -> Scored:
    """Process responses as the standard says."""
    state: dict[str, Value] = {**answers, "SCORE": 0.0}
    declared = {each.attrib["identifier"]: each for each in root.iter(f"{QTI}qti-response-declaration")}
    correct = right_answers(root)
    for condition in root.iter(f"{QTI}qti-response-condition"):
        for branch in condition:
            otherwise = branch.tag == f"{QTI}qti-response-else"
            if otherwise or _value(branch[0], state, correct, declared) is True:
                for action in branch if otherwise else branch[1:]:
                    state[action.attrib["identifier"]] = _value(action[0], state, correct, declared)
                break
    earned = state["SCORE"]
    assert isinstance(earned, float)
    said = [
        each
        for each in root.iter(f"{QTI}qti-modal-feedback")
        if state.get(each.attrib["outcome-identifier"]) == each.get("identifier")
    ]
    return Scored(earned, tuple("".join(each.itertext()) for each in said))


def _mapped(declaration: ET.Element, answer: Value) -> float:
    mapping = next(declaration.iter(f"{QTI}qti-mapping"))
    worth = {each.attrib["map-key"]: float(each.attrib["mapped-value"]) for each in mapping}
    given = answer if isinstance(answer, tuple) else () if answer is None else (str(answer),)
    found = fsum(worth.get(each, float(mapping.get("default-value", "0"))) for each in set(given))
    return min(max(found, float(mapping.get("lower-bound", "-inf"))), float(mapping.get("upper-bound", "inf")))


def _value(
    node: ET.Element, state: Mapping[str, Value], correct: Mapping[str, Value], declared: Mapping[str, ET.Element]
) -> object:
    name = node.tag.removeprefix(QTI)
    parts = [_value(child, state, correct, declared) for child in node]
    match name:
        case "qti-variable":
            return state.get(node.attrib["identifier"])
        case "qti-correct":
            return correct[node.attrib["identifier"]]
        case "qti-map-response":
            return _mapped(declared[node.attrib["identifier"]], state.get(node.attrib["identifier"]))
        case "qti-base-value":
            return float(node.text or "") if node.get("base-type") == "float" else node.text
        case "qti-and":
            return all(part is True for part in parts)
        case "qti-or":
            return any(part is True for part in parts)
        case "qti-not":
            return parts[0] is not True
        case "qti-is-null":
            return parts[0] is None or parts[0] == ()
        case "qti-match":
            return parts[0] is not None and parts[0] == parts[1]
        case "qti-member":
            return parts[1] is not None and parts[0] in parts[1]
        case "qti-gte" | "qti-lte":
            first, second = parts
            if not isinstance(first, float) or not isinstance(second, float):
                return None
            return first >= second if name == "qti-gte" else first <= second
        case "qti-sum":
            return sum(part for part in parts if isinstance(part, float))
        case "qti-product":
            return prod(part for part in parts if isinstance(part, float))
        case "qti-ordered":
            return tuple(parts)
    raise AssertionError(f"{name} is no expression that is known")
