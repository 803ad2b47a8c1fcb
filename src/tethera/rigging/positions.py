"""Where each key and value of a TOML text stands: line and column, from 1, in characters.

tomllib gives the values but not their places; a concrete syntax tree gives the places. Only ever used to say where.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

Path = tuple[str | int, ...]
#: Deeper than any route nests; a syntax tree may be as deep as its text is long.
_DEEPEST = 8


@dataclass(frozen=True, slots=True)
class Spot:
    """Line and column from 1."""

    line: int
    column: int


class Positions:
    """Places of keys and values by their path, such as ("pitch", 1, "depth")."""

    def __init__(self, text: str) -> None:
        # Imported here: the help of the terminal must not wait for a parser it does not use.
        import tree_sitter_toml
        from tree_sitter import Language, Parser

        self._data = text.encode("utf-8", errors="replace")
        self._lines = self._data.split(b"\n")
        self._keys: dict[Path, Spot] = {}
        self._values: dict[Path, Spot] = {}
        self._counts: dict[Path, int] = {}
        self._table: Path = ()
        tree = Parser(Language(tree_sitter_toml.language())).parse(self._data)
        for node in tree.root_node.named_children:
            self._top(node)

    def key(self, path: Path) -> Spot:
        """Where the key stands, or the nearest thing above it."""
        return self._nearest(self._keys, path)

    def value(self, path: Path) -> Spot:
        """Where the value stands, or the nearest thing above it."""
        return self._values.get(path) or self._nearest(self._keys, path)

    def _nearest(self, spots: dict[Path, Spot], path: Path) -> Spot:
        for size in range(len(path), 0, -1):
            if path[:size] in spots:
                return spots[path[:size]]
        return Spot(1, 1)

    def _top(self, node: Any) -> None:
        if node.type == "pair":
            self._pair(node, (), 0)
        elif node.type in ("table", "table_array_element") and node.named_children:
            path = self._resolve(self._names(node.named_children[0]))
            if node.type == "table_array_element":
                count = self._counts.get(path, 0)
                self._counts[path] = count + 1
                self._keys.setdefault(path, self._spot(node))
                path = (*path, count)
            self._keys[path] = self._spot(node)
            for child in node.named_children[1:]:
                if child.type == "pair":
                    self._pair(child, path, 0)

    def _resolve(self, names: tuple[str, ...]) -> Path:
        """A dotted header goes into the last element of each array of tables on its way."""
        path: Path = ()
        for name in names[:-1]:
            path = (*path, name)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        return (*path, *names[-1:])

    def _pair(self, node: Any, base: Path, depth: int) -> None:
        if len(node.named_children) < 2 or depth > _DEEPEST:
            return
        key, value = node.named_children[0], node.named_children[-1]
        path: Path = (*base, *self._names(key))
        self._keys.setdefault(path, self._spot(key))
        self._value(value, path, depth)

    def _value(self, node: Any, path: Path, depth: int) -> None:
        self._values.setdefault(path, self._spot(node))
        if node.type not in ("inline_table", "array") or depth > _DEEPEST:
            return
        children: Iterator[Any] = (c for c in node.named_children if c.type != "comment")
        for number, child in enumerate(children):
            if node.type == "array":
                self._keys.setdefault((*path, number), self._spot(child))
                self._value(child, (*path, number), depth + 1)
            elif child.type == "pair":
                self._pair(child, path, depth + 1)

    def _names(self, node: Any) -> tuple[str, ...]:
        stack, names = [node], []
        while stack:
            at = stack.pop()
            if at.type == "dotted_key":
                stack.extend(reversed(at.named_children))
            else:
                names.append(self._data[at.start_byte : at.end_byte].decode("utf-8", "replace").strip("\"'"))
        return tuple(names)

    def _spot(self, node: Any) -> Spot:
        row, column = node.start_point
        line = self._lines[row] if row < len(self._lines) else b""
        return Spot(row + 1, len(line[:column].decode("utf-8", "replace")) + 1)
