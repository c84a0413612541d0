"""Validates exchange lines against the published schema with another author's validator.

usage: validate_schema.py SCHEMA GOOD.jsonl BAD.jsonl

Every line of GOOD must fit, no line of BAD may. Prints the first lines that do not do as they should.
"""

import json
import sys

try:
    import jsonschema
except ImportError:
    sys.exit("The schema cannot be checked: install the Debian package python3-jsonschema.")


def main(schema_file, good_file, bad_file):
    with open(schema_file, encoding="utf-8") as file:
        schema = json.load(file)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    wrong = []
    for file, fits in ((good_file, True), (bad_file, False)):
        with open(file, encoding="utf-8") as lines:
            for number, line in enumerate(lines, 1):
                errors = list(validator.iter_errors(json.loads(line)))
                if fits and errors:
                    wrong.append(f"good line {number}: {jsonschema.exceptions.best_match(errors).message[:300]}")
                if not fits and not errors:
                    wrong.append(f"bad line {number} fits: {line[:600]}")
    print("\n".join(wrong[:20]))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
