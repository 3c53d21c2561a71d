"""Holds every rule set against the published schema with an independent reader.

python3 tests/scripts/rule_schema.py      (jsonschema 4.26, Python 3.11 or later)
"""

import glob
import json
import sys
import tomllib

import jsonschema

schema = json.load(open("nde-core/rule-sets/form.schema.json"))
jsonschema.Draft202012Validator.check_schema(schema)
reader = jsonschema.Draft202012Validator(schema)
faults = 0
folders = ("nde-core/rule-sets", "tests/src/slow/sets", "fixtures/rules")
for path in sorted(p for folder in folders for p in glob.glob(folder + "/*.toml")):
    # A template is complete once its gaps are filled in.
    text = open(path).read().replace("?", "3")
    for error in reader.iter_errors(tomllib.loads(text)):
        faults += 1
        print(path, list(error.path), error.message)
print(faults, "faults")
sys.exit(faults > 0)
