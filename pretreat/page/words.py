"""Faults of a site file in the words of the form: its labels in place of tables and keys."""

import re
from functools import partial

from pretreat.page.site_form import label_of

_FILE = re.compile(r"^\S+\.(?:toml|xlsx):\s+")
_VALUE = r"""(?P<value>"[^"]*"|'[^']*'|\[[^]]*\]|[^\s,;:]+)"""
_PLACE, _IN = r"\[(?P<table>\w+)\] (?P<key>\w+)", r"(?:to|in|under|below) \[(?P<table>\w+)\]"
_SAID = (  # what names a key, and how the form says it
    (
        re.compile(rf"{_PLACE} is missing; write (?P=key) = {_VALUE}"),
        "{} is missing; for example {}",
    ),
    (re.compile(rf"(?P<key>\w+) = {_VALUE} {_IN}"), "{} as {}"),
    (re.compile(rf"{_PLACE} = {_VALUE}"), "{} as {}"),
    (re.compile(_PLACE), "{}"),
    (re.compile(rf"(?P<key>\w+) {_IN}"), "{}"),
)
_NO_FILE = re.compile(r"^(\S+): does not exist; check the name of the lab report.*$")


def in_page_words(line: str) -> tuple[str, list[str]]:
    """Return a fault in the words of the form, and the fields that it speaks of.

    Parameters
    ----------
    line : str
        The fault as the commands say it. [-]

    Returns
    -------
    tuple of str and list of str
        The fault, and fields as "table.key". [-]
    """
    fields: list[str] = []
    text = _FILE.sub("", line)
    if found := _NO_FILE.match(text):
        return f"the lab report {found[1]} is named: choose that file in step 1", fields

    for pattern, words in _SAID:
        text = pattern.sub(partial(_said, words, fields), text)
    return text, list(dict.fromkeys(fields))


def _said(words: str, fields: list[str], found: re.Match[str]) -> str:
    name, label = label_of(found["table"], found["key"])
    if label is None:
        return found[0]
    fields.append(name)
    return words.format(label, _plain(found.groupdict().get("value", "")))


def _plain(value: str) -> str:
    word = value.strip("\"'")
    return {"true": "yes", "false": "no"}.get(word, word)
