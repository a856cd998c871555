"""Loads every table of an unpacked data package with pandas, types taken from datapackage.json, and tells what it found:
'table rows column:type ...'. Reading fails where a value does not fit its type."""

import json
import pathlib
import sys

import pandas

folder = pathlib.Path(sys.argv[1])
TYPES = {"integer": "Int64", "number": "float64"}

tables = {}
for resource in json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))["resources"]:
    if "schema" not in resource:
        continue
    fields = resource["schema"]["fields"]
    table = pandas.read_csv(
        folder / resource["path"],
        dtype={field["name"]: TYPES.get(field["type"], "string") for field in fields},
        keep_default_na=False,
        na_values=[""],
    )
    for field in fields:
        if field.get("constraints", {}).get("required"):
            assert table[field["name"]].notna().all(), (resource["name"], field["name"])
    tables[resource["name"]] = table
    print(resource["name"], len(table), *(f"{name}:{kind}" for name, kind in table.dtypes.items()))

# A figure as published and as counted from the answers: people who answered the triangle.
if "answers" in tables:
    answers, figures = tables["answers"], tables["figures"]
    people = answers[(answers.kind == "triangle") & (answers.question == "choice")].person.nunique()
    figure = figures[(figures.kind == "triangle") & (figures.figure == "test.answers")]
    assert figure.value.tolist() == [people], (figure, people)
