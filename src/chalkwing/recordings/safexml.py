"""XML read as a stream: no entities expanded, nothing fetched; damage costs only what follows it."""

from __future__ import annotations

from collections.abc import Mapping
from xml.sax import SAXException, SAXParseException
from xml.sax.expatreader import ExpatParser
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

from defusedxml.common import DefusedXmlException
from defusedxml.sax import make_parser

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings.recording import Note

_FEED = 65536
_MAX_TEXT = 100_000
"""No element of a track holds more text than this; more is not kept [characters]."""


class Walker(ContentHandler):
    """Base of the XML readers: ``enter`` and ``leave`` are told each element by its lower-case local name.

    ``path`` holds the local names from the root to the current element.
    """

    def __init__(self) -> None:
        super().__init__()
        self.path: list[str] = []
        self._text: list[list[str]] = []
        self._size = 0
        self.parser: ExpatParser | None = None

    def enter(self, name: str, attributes: Mapping[str, str]) -> None:
        """An element begins."""

    def leave(self, name: str, content: str) -> None:
        """An element ends; ``content`` is the text directly inside it, stripped."""

    @property
    def line(self) -> int:
        """The line the parser has reached."""
        return int(self.parser.getLineNumber() or 0) if self.parser is not None else 0

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802 - named by xml.sax
        """Called by the parser."""
        local = local_name(name)
        self.path.append(local)
        self._text.append([])
        self._size = 0
        self.enter(local, dict(attrs))

    def characters(self, content: str) -> None:
        """Called by the parser, any number of times for one element."""
        if self._text and self._size < _MAX_TEXT:
            self._text[-1].append(content)
            self._size += len(content)

    def endElement(self, name: str) -> None:  # noqa: N802 - named by xml.sax
        """Called by the parser."""
        self.leave(self.path[-1], "".join(self._text.pop()).strip())
        self.path.pop()


def local_name(name: str) -> str:
    """An element's name without its namespace prefix, in lower case."""
    return name.rpartition(":")[2].lower()


def walk(data: bytes, walker: Walker, *, source: str) -> Note | None:
    """Feed a document to ``walker``; the note says where a damaged document became unreadable.

    Raises
    ------
    UnreadableRecording
        The document declares entities or refers to other documents, which no recording needs to.
    """
    parser = make_parser()
    parser.setContentHandler(walker)
    # The parser tells its place itself: with ``feed`` it never hands out a locator.
    walker.parser = parser
    data = data.lstrip(b" \t\r\n\0")
    try:
        for start in range(0, len(data), _FEED):
            parser.feed(data[start : start + _FEED])
        parser.close()
    except DefusedXmlException as error:
        raise UnreadableRecording(
            "it declares entities or outside references, which no recording needs and which can do harm.",
            where=source,
            next_step="Export the track again from the program it came from.",
        ) from error
    except SAXParseException as error:
        line = error.getLineNumber()
        return Note(f"the XML is damaged here ({error.getMessage()}); what came before was read.", line=line)
    except (SAXException, ValueError, LookupError) as error:
        return Note(f"the XML is damaged ({error}); what came before was read.")
    return None
