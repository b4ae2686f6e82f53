"""JSON Schemas for editors, draft 7, made from the declarations.

A line `#:schema ./schema/job.schema.json` at the top of a TOML file names one.
"""

from __future__ import annotations

import json
import re
from dataclasses import is_dataclass
from typing import Any

from fab.params.job import Job
from fab.params.lengths import LENGTH_PATTERN, MOST_CHARS
from fab.params.merge import EITHER
from fab.params.panel import PanelParams
from fab.params.shop import Shop
from fab.params.spec import Spec, defaults, specs
from fab.params.trade import TRADE
from fab.params.values import allowed
from fab.seal import OPEN, sealed

DRAFT = "http://json-schema.org/draft-07/schema#"
MODELS: dict[str, type] = {"job": Job, "shop": Shop, "panel": PanelParams}
_EXTENDABLE = (Shop, PanelParams)


def schema(kind: str) -> dict[str, Any]:
    """The schema of a "job", "shop" or "panel" file."""
    model = MODELS[kind]
    made: dict[str, Any] = {"length": _length_text()}
    body = _table(model, made)
    definitions = {name: made[name] for name in sorted(made)}
    return {"$schema": DRAFT, "title": f"panejig {kind}", **body, "definitions": definitions}


def files() -> dict[str, bytes]:
    """File name to bytes of every schema, sealed."""
    return {f"{kind}.schema.json": _bytes({**schema(kind), "$comment": OPEN}) for kind in MODELS}


def _bytes(made: dict[str, Any]) -> bytes:
    return sealed((json.dumps(made, indent=1) + "\n").encode())


def _table(model: type, made: dict[str, Any]) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    if model in _EXTENDABLE:
        says = "A preset's name, or a TOML file beside this one or in a folder below it."
        properties["extends"] = {"type": "string", "minLength": 1, "description": says}
    for name, spec in specs(model).items():
        properties[name] = _told(
            _property(spec, made, top=model is Job), spec, defaults(model)[name]
        )
    body: dict[str, Any] = {
        "type": "object",
        "additionalProperties": False,
        "properties": properties,
    }
    if model is PanelParams:
        body["not"] = {"required": list(EITHER)}  # two ways to say one size
    return body


def _property(spec: Spec, made: dict[str, Any], *, top: bool) -> dict[str, Any]:
    if spec.made_of is not None:
        name = spec.made_of.__name__
        if name not in made:
            made[name] = {}
            made[name] = _table(spec.made_of, made)
        table: dict[str, Any] = {"$ref": f"#/definitions/{name}"}
        if top and spec.made_of in _EXTENDABLE:
            table = {"anyOf": [table, {"type": "string", "minLength": 1}]}
        if spec.kind == "section":
            # draft 7 ignores what stands beside a $ref
            return table if "anyOf" in table else {"allOf": [table]}
        if spec.kind == "sections":
            return {"type": "array", "items": table, "maxItems": spec.most_items}
        names = {"pattern": f"^(?:{spec.pattern})$", "maxLength": int(spec.most or 60)}
        return {
            "type": "object",
            "additionalProperties": table,
            "propertyNames": names,
            "maxProperties": spec.most_items,
        }
    value: dict[str, Any] = _VALUES[spec.kind](spec)
    return value


def _told(body: dict[str, Any], spec: Spec, default: Any) -> dict[str, Any]:
    """The body with what an editor shows."""
    words = [spec.doc[:1].upper() + spec.doc[1:]]
    if spec.made_of is None:
        words += [part for part in (allowed(spec) if spec.kind != "choice" else "",) if part]
        if default is None:
            words.append(f"left out: {spec.follows}" if spec.follows else "may be left out")
    if spec.source:
        words.append(f"source: {spec.source}")
    told = {**body, "description": ". ".join(words) + "."}
    if spec.made_of is None and default is not None and not is_dataclass(default):
        told["default"] = json.loads(json.dumps(default))
    return told


def _number(spec: Spec) -> dict[str, Any]:
    plain: dict[str, Any] = {"type": "number"}
    if spec.least is not None:
        plain["minimum"] = spec.least
    if spec.most is not None:
        plain["maximum"] = spec.most
    if spec.word:
        return {"anyOf": [plain, {"const": spec.word}]}
    return {"anyOf": [plain, {"$ref": "#/definitions/length"}]} if spec.unit == "mm" else plain


def _count(spec: Spec) -> dict[str, Any]:
    return {"type": "integer", "minimum": int(spec.least or 0), "maximum": int(spec.most or 0)}


def _text(spec: Spec) -> dict[str, Any]:
    body: dict[str, Any] = {"type": "string", "maxLength": int(spec.most or 200)}
    if spec.pattern:
        body["pattern"] = f"^(?:{spec.pattern})$"
    return body


def _length_text() -> dict[str, Any]:
    says = 'A length with its unit: "3 mm", "0.118 in", "1/8 in", "1 1/2 in", "2 cm".'
    return {
        "type": "string",
        "maxLength": MOST_CHARS,
        "pattern": LENGTH_PATTERN,
        "description": says,
    }


def _list(items: dict[str, Any], spec: Spec, **more: Any) -> dict[str, Any]:
    return {"type": "array", "items": items, "maxItems": spec.most_items, **more}


def _two(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": items, "minItems": 2, "maxItems": 2}


def _rings(spec: Spec) -> dict[str, Any]:
    return _list({"type": "array", "items": _two(_number(spec)), "minItems": 3}, spec)


def _curves(spec: Spec) -> dict[str, Any]:
    corner = {"type": "array", "items": _number(spec), "minItems": 2, "maxItems": 3}
    return _list({"type": "array", "items": corner, "minItems": 2}, spec)


def _prices(spec: Spec) -> dict[str, Any]:
    """Names of a parts list, those with a size by a pattern."""
    names = {trade.plain for trade in TRADE.values()} | {name for name in TRADE if "{}" not in name}
    sized = {
        f"^{re.escape(name)}$".replace(r"\{\}", r"\d+(\.\d+)?"): _number(spec)
        for name in sorted(TRADE)
        if "{}" in name
    }
    return {
        "type": "object",
        "properties": {name: _number(spec) for name in sorted(names)},
        "patternProperties": sized,
        "additionalProperties": False,
        "maxProperties": spec.most_items,
    }


_VALUES: dict[str, Any] = {
    "length": _number,
    "number": _number,
    "count": _count,
    "choice": lambda spec: {"enum": list(spec.options)},
    "flag": lambda spec: {"type": "boolean"},
    "text": _text,
    "pair": lambda spec: _two(_number(spec)),
    "points": lambda spec: _list(_two(_number(spec)), spec),
    "rings": _rings,
    "curves": _curves,
    "cells": lambda spec: _list(_two(_count(spec)), spec, uniqueItems=True),
    "drawing": lambda spec: {
        "anyOf": [_text(spec), {"type": "array", "items": {"type": "string"}}],
        "examples": [spec.example],
    },
    "cell": lambda spec: _two(_count(spec)),
    "names": lambda spec: _list(_text(spec), spec, uniqueItems=True),
    "numbers": lambda spec: _list(_number(spec), spec),
    "prices": _prices,
}
