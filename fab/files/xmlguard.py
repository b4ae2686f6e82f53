"""Entities of an XML file, found by the parser: no encoding and no comment hides them."""

from __future__ import annotations

import contextlib
from xml.etree import ElementTree as ET
from xml.parsers import expat


class DeclaresEntities(ValueError):
    """The file declares entities: a few can stand for gigabytes, or name other files."""


def refuse_entities(data: bytes) -> None:
    """Raise DeclaresEntities for a file that declares an entity of any kind.

    What is no XML at all passes: the reader tells what is wrong with it.
    """
    parser = expat.ParserCreate()

    def declared(*_: object) -> None:
        raise DeclaresEntities

    parser.EntityDeclHandler = declared
    parser.UnparsedEntityDeclHandler = declared
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, LookupError):
        return
    except ValueError as error:
        if isinstance(error, DeclaresEntities):
            raise


def has_root(data: bytes, name: str) -> bool:
    """True when the first element of the file has this name, in any namespace and encoding."""
    parser, found = expat.ParserCreate(), ""

    class Enough(Exception):
        pass

    def start(tag: str, _: object) -> None:
        nonlocal found
        found = tag
        raise Enough

    parser.StartElementHandler = start
    with contextlib.suppress(Enough, expat.ExpatError, LookupError, ValueError):
        parser.Parse(data, True)
    return found.rsplit(":", 1)[-1].lower() == name


def parsed(data: bytes) -> ET.Element:
    """The root of a file without entities.

    Raises DeclaresEntities, ET.ParseError, ValueError, LookupError.
    """
    refuse_entities(data)
    return ET.fromstring(data)
