"""Why what a person typed is no length here. `shown` is what was typed, short enough to quote."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

LENGTHS: Mapping[str, Says] = {
    "length-negative": "{shown}: a length can't be negative here.",
    "length-too-long": "{shown} is more than {most_in:feet}, the most that is possible here.",
    "length-too-short": "{shown} is less than {least_in:feet}, the least that is possible here.",
    "length-feet-or-inches": ("{shown} could be {readings[0]} or {readings[1]}: write it one of these ways."),
    "length-mixed-dash": ('{shown} could be {whole} {fraction}" or {whole}\' {fraction}": write it one of these ways.'),
    "length-no-number": "A length is a number of inches, or feet and inches such as 12' 3 1/2\".",
    "length-not-finite": "{shown} is not a length.",
    "length-empty": "Type a length, such as 12' 3 1/2\" or 147.5 (inches).",
    "length-sixteenths": "{shown}: the third number is sixteenths of an inch, 0 to 15.",
    "length-decimal-feet-and-inches": "{shown}: write either decimal feet, or feet and inches, not both.",
    "length-a-foot-of-inches": (
        "{shown}: {inches:g} inches after the feet make another foot; write 0 to 11 and a fraction."
    ),
    "length-over-nothing": "{shown}: a fraction can't have 0 below the line.",
    "length-too-fine": "{shown}: 1/{finest} is the finest fraction of an inch here.",
    "length-improper-fraction": ("{shown}: the fraction {fraction} is 1 or more; write a whole number and a fraction."),
    "length-decimals-and-fraction": "{shown}: write either decimals or a fraction, not both.",
    "length-text-too-long": "{shown} is too long to be a length.",
    "length-turned": "{shown} holds a mark that turns letters round; it isn't what it looks like. Type it anew.",
    "length-unit": "{shown} can't be read: “{unit}” is not a unit here. Write feet and inches, such as 12' 3 1/2\".",
    "length-comma": "{shown}: write the decimal with a point, not a comma.",
    "length-which-is-feet": "{shown}: say which is feet, such as {pair[0]}' {pair[1]}\".",
    "length-unreadable": "{shown} can't be read as a length; write it like 12' 3 1/2\" or 147.5 (inches).",
}
