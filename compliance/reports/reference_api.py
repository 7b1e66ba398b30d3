"""The reference page of the API, written from its OpenAPI description."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drf_spectacular.generators import SchemaGenerator

INTRODUCTION = """# API

For programs that ask what the pages show. It answers people with a post, within the reach of their posts, exactly as
the pages do; what is out of reach is not found. The whole description, as OpenAPI 3.1 in YAML or JSON, stands at
`/api/v1/schema/`.

- **Signing in.** By the session cookie of the pages. A `POST` also sends the value of the cookie `csrftoken`
  (`__Host-csrf` behind HTTPS) in the header `X-CSRFToken`.
- **Moments** carry their offset from UTC; days are ISO 8601 dates of the site.
- **Every answer says its moment** (`as_of`) and its `cautions`: show both wherever the answer is shown.
- **An empty list is no promise.** `coverage` says how far the nightly check has looked; a serving that no run has read
  has no counts at all.
- **Refusals** are problem details (RFC 9457). `errors` lists every fault with its field, a code that stays the same,
  and a sentence that says what is wrong, why, and how to mend it. Nothing of a refused request is saved. A misspelt
  name is refused too: a filter that is passed over would widen the answer unseen.
- **How often.** Up to 600 requests a minute for each person, and fewer treat checks (`RATE_API`, `RATE_TREAT`);
  then 429, with `Retry-After`.
"""

METHODS = ("get", "post")


def api_page() -> str:
    """Return the page: every address, then the shape of everything that is sent and answered."""
    schema = SchemaGenerator().get_schema(request=None, public=True)
    return "\n".join([INTRODUCTION, *_addresses(schema), *_shapes(schema)])


def _addresses(schema: dict[str, Any]) -> Iterator[str]:
    yield "## Addresses\n"
    for address, methods in schema["paths"].items():
        for method in METHODS:
            if method in methods:
                yield from _address(f"{method.upper()} {address}", methods[method])


def _address(title: str, asked: dict[str, Any]) -> Iterator[str]:
    yield f"### {title}\n\n{_sentence(asked['description'])}\n"
    for each in asked.get("parameters", []):
        needed = "needed" if each.get("required") else "may be left out"
        yield _line(f"- `{each['name']}` ({_kind(each['schema'])}, {needed})", each)
    if body := asked.get("requestBody"):
        yield f"- body: {_kind(_only(body['content']))}"
    answers = asked["responses"]
    yield from (f"- {status}: {_kind(_only(answers[status]['content']))}" for status in answers if status < "400")
    refused = ", ".join(sorted(status for status in answers if status >= "400"))
    yield f"- refused with {refused}: [Problem](#problem)\n"


def _shapes(schema: dict[str, Any]) -> Iterator[str]:
    yield "## Shapes\n"
    for name, shape in schema["components"]["schemas"].items():
        if "properties" in shape:
            yield f"### {name}\n\n{_sentence(shape.get('description', ''))}\n"
            for field, each in shape["properties"].items():
                yield _line(f"- `{field}` ({_kind(each)})", each)
        elif "enum" in shape:
            yield f"### {name}\n"
            yield ", ".join(f"`{value}`" for value in shape["enum"])
        yield ""


def _only(content: dict[str, Any]) -> dict[str, Any]:
    [kind] = content.values()
    shape: dict[str, Any] = kind["schema"]
    return shape


def _kind(shape: dict[str, Any]) -> str:
    """Say in a word or two what a value is."""
    if "$ref" in shape:
        name = shape["$ref"].rpartition("/")[2]
        return "null" if name == "NullEnum" else f"[{name}](#{name.lower()})"
    for several in ("oneOf", "allOf", "anyOf"):
        if several in shape:
            return " or ".join(_kind(each) for each in shape[several])
    if shape.get("type") == "array":
        return f"list of {_kind(shape['items'])}"
    if "enum" in shape:
        return " or ".join(f"`{value}`" for value in shape["enum"])
    kinds = shape.get("type", "anything")
    named = [kinds] if isinstance(kinds, str) else kinds
    return " or ".join(shape.get("format", each) if each == "string" else each for each in named)


def _line(start: str, described: dict[str, Any]) -> str:
    said = _sentence(described.get("description", ""))
    return f"{start}: {said}" if said else start


def _sentence(text: str) -> str:
    """Descriptions are wrapped in the code, and may end in a list of choices that stands beside them already."""
    return " ".join(text.partition("* `")[0].split())
