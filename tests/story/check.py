"""Reads what the two winters of tests/it/two_winters.rs wrote with readers from PyPI: html5lib (strict), icalendar, jsonschema, and
Python's own csv.

    python -m venv venv && venv/bin/pip install html5lib icalendar jsonschema
    TINWORM_STORY=story cargo test --test it two_winters
    venv/bin/python tests/story/check.py story

Every file must be read without a single complaint; what was read is counted, and a kind of file that is missing is a failure.
"""

import csv
import json
import sys
from pathlib import Path

import html5lib
import icalendar
import jsonschema


def check_csv(path):
    with open(path, newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file, strict=True))
    header, *body = rows
    assert body, f"{path}: no rows"
    for number, row in enumerate(body, 2):
        assert len(row) == len(header), f"{path}:{number}: {len(row)} cells under {len(header)} columns"
        for cell in row:
            if cell[:1] and cell[0] in "=+-@\t\r":
                float(cell)  # a number is no formula; anything else is refused here
    if path.name.endswith("sheet.csv"):
        assert path.read_bytes().count(b"\r\n") >= len(rows), f"{path}: RFC 4180 ends lines with CR LF"
    return f"{len(body)} rows of {len(header)} columns"


def check_html(path):
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    tree = parser.parse(path.read_text(encoding="utf-8"))
    names = [element.tag for element in tree.iter() if isinstance(element.tag, str)]
    assert "script" not in names and "link" not in names, f"{path}: a page is to stand alone"
    assert names.count("h1") == 1, f"{path}: {names.count('h1')} main headings"
    for table in tree.iter("table"):
        heads = list(table.iter("th"))
        assert heads and all(head.get("scope") for head in heads), f"{path}: a table without headers"
    level = 0
    for element in tree.iter():
        if isinstance(element.tag, str) and element.tag in ("h1", "h2", "h3", "h4", "h5", "h6"):
            now = int(element.tag[1])
            assert now <= level + 1, f"{path}: heading {now} follows {level}"
            level = now
    return f"{len(names)} elements, {names.count('table')} tables"


def check_calendar(path):
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    events = calendar.walk("VEVENT")
    assert events, f"{path}: no events"
    seen = set()
    for event in events:
        assert not event.errors, f"{path}: {event.errors}"
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"):
            assert name in event, f"{path}: an event without {name}"
        assert event["UID"] not in seen, f"{path}: {event['UID']} twice"
        seen.add(event["UID"])
        assert event.decoded("DTEND") > event.decoded("DTSTART")
    return f"{len(events)} events"


def check_export(path):
    schema = json.loads((path.parent / "export.schema.json").read_text(encoding="utf-8"))
    kind = jsonschema.validators.validator_for(schema)
    kind.check_schema(schema)
    export = json.loads(path.read_text(encoding="utf-8"))
    wrong = [f"{error.json_path}: {error.message}" for error in kind(schema).iter_errors(export)]
    assert not wrong, f"{path}: {wrong}"
    return f"{len(export['car']['surveys'])} surveys, {len(export['plan']['visits'])} visits, by {kind.__name__}"


def main(folder):
    for pattern, check in (
        ("*.csv", check_csv),
        ("*.html", check_html),
        ("*.ics", check_calendar),
        ("export.json", check_export),
    ):
        files = sorted(Path(folder).glob(pattern))
        if not files:
            sys.exit(f"{folder} holds no {pattern}")
        for path in files:
            print(f"{path.name}: {check(path)}")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
