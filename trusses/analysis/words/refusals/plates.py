"""Why a table of plates can't be used."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

PLATES: Mapping[str, Says] = {
    "plates-too-large": "The table has {count:,} characters; it can have {most:,}.",
    "plates-not-csv": "The file can't be read as CSV: {problem}.",
    "plates-empty": "The table is empty; its first row names the columns.",
    "plates-too-many": "The table has {count:,} plates; it can have 1 to {most}.",
    "plates-column-unknown": 'The first row has a column "{column}" that a table of plates doesn\'t have.',
    "plates-column-twice": 'The first row has the column "{column}" twice.',
    "plates-columns-missing": lambda columns: (
        f"The first row lacks the column{'s' if len(columns) > 1 else ''} {', '.join(columns)}."
    ),
    "plate-twice": 'the plate "{plate}" stands in the table twice',
    "plate-row-length": "it has {count} values for {columns} columns",
    "plate-name": "plate needs a name of 1 to {most} plain characters",
    "plate-number": '{column} is "{shown}"; it must be a number over 0',
}
