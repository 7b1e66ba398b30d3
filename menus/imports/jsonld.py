"""Products out of JSON-LD in the GS1 Web Vocabulary, as the rows that a sheet of the same facts would hold.

Names are told by what stands after their prefix, so that `gs1:gtin`, `gtin` under a vocabulary and the whole address
come to the same. Contexts are never fetched.
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import IO, Any

from django.conf import settings

from menus.imports.problem import Unreadable
from menus.imports.sheet import Row, Sheet, read_bytes, read_sheet
from menus.labels.supplied.codes import local_name

Node = dict[str, Any]
TELLING = ("hasAllergen", "allergenStatement", "ingredientStatement")
"""What makes a node a product that tells something of allergens; the others are passed over."""


def read_products(file: IO[bytes], columns: Sequence[str], omissible: Sequence[str] = ()) -> Sheet:
    """Read JSON-LD, or a CSV or XLSX sheet; the content decides which. Rows of JSON-LD count its products from 1."""
    try:
        data = read_bytes(file)
        if data.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] not in (b"{", b"["):
            return read_sheet(io.BytesIO(data), columns, omissible)
        empty = dict.fromkeys(columns, "")
        return Sheet(tuple(Row(number, empty | cells) for number, cells in _rows(_loaded(data))), ())
    except Unreadable as error:
        return Sheet((), (error.problem,))


def _loaded(data: bytes) -> Any:
    try:
        return json.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise Unreadable("The file is not written in UTF-8.", "Ask the supplier for it in UTF-8.") from error
    except (ValueError, RecursionError) as error:
        line = f" from line {error.lineno} on" if isinstance(error, json.JSONDecodeError) else ""
        raise Unreadable(
            f"The file begins like JSON and cannot be read as such{line}.",
            "It may have been cut short on its way: fetch it again.",
        ) from error


def _rows(loaded: Any) -> Iterator[tuple[int, dict[str, str]]]:
    nodes = list(_nodes(loaded))
    products = [node for node in nodes if any(node.get(name) for name in TELLING)]
    if not products:
        raise Unreadable(
            "The file is JSON and holds no product with allergens in the GS1 Web Vocabulary.",
            "Ask the supplier for its product data as gs1:Product, or fill in the template.",
        )
    if len(products) > settings.IMPORT_MAX_ROWS:
        raise Unreadable(
            f"The file has more than the {settings.IMPORT_MAX_ROWS:,} products that one import takes.",
            "Split it into several files and import them one after the other.",
        )
    by_id = {name: node for node in nodes if isinstance(name := node.get("@id"), str) and len(node) > 1}
    for number, node in enumerate(products, start=1):
        yield from ((number, cells) for cells in _product(node, by_id))


def _nodes(loaded: Any) -> Iterator[Node]:
    """Every node, however deep: a product may stand in an offer, a graph or another product."""
    waiting = [loaded]
    while waiting:
        each = waiting.pop()
        if isinstance(each, dict):
            yield _local(each)
            each = list(each.values())
        if isinstance(each, list):
            waiting.extend(reversed(each))


def _product(node: Node, by_id: Mapping[str, Node]) -> Iterator[dict[str, str]]:
    """One row for each allergen, the supplier's sentences with the first; a product without allergens has one row."""
    about = {"gtin": _text(node.get("gtin")), "product_name": _text(node.get("productName"))}
    said = {
        "ingredient_statement": _text(node.get("ingredientStatement")),
        "allergen_statement": _text(node.get("allergenStatement")),
    }
    for detail in _several(node.get("hasAllergen")) or [{}]:
        allergen = _allergen(detail, by_id)
        cells = {
            "allergen_type_code": _text(allergen.get("allergenType")),
            "level_of_containment_code": _text(allergen.get("allergenLevelOfContainmentCode")),
            "spec_agency": _text(allergen.get("allergenSpecificationAgency", node.get("allergenSpecificationAgency"))),
            "spec_name": _text(allergen.get("allergenSpecificationName", node.get("allergenSpecificationName"))),
        }
        yield about | said | cells
        said = dict.fromkeys(said, "")


def _allergen(detail: Any, by_id: Mapping[str, Node]) -> Node:
    """The details of one allergen: in place, by the id of a node beside the product, or the bare code."""
    allergen = _local(detail) if isinstance(detail, dict) else {}
    return allergen if "allergenType" in allergen else by_id.get(_plain(detail), {"allergenType": detail})


def _local(node: Node) -> Node:
    return {local_name(key): value for key, value in node.items()}


def _several(value: Any) -> list[Any]:
    if value is None:
        return []
    return value if isinstance(value, list) else [value]


def _text(value: Any) -> str:
    """The text of a value however it is wrapped; of several languages the English one, or all where there is none."""
    values = _several(value)
    english = [each for each in values if isinstance(each, dict) and str(each.get("@language", "")).startswith("en")]
    return " / ".join(text for each in english or values if (text := _plain(each)))


def _plain(value: Any) -> str:
    if isinstance(value, dict):
        value = value.get("@value", value.get("@id", ""))
    return " ".join(str(value).replace("\x00", "").split()) if isinstance(value, str | int | float) else ""
