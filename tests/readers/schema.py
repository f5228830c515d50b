"""Holds files and values against a JSON Schema with a validator that knows nothing of this project.

The command line names the schema and a list, both JSON: `files` are read as YAML 1.2, `values` are pairs
of a definition's name and a text. Prints for each what the validator says against it: null where it is
valid.
"""

import json
import sys

import jsonschema
import ruamel.yaml
import ruamel.yaml.error


def names(node):
    """Keys as texts: in JSON there are no others."""
    if isinstance(node, dict):
        return {str(key): names(value) for key, value in node.items()}
    if isinstance(node, list):
        return [names(item) for item in node]
    return node


def read(path):
    yaml = ruamel.yaml.YAML(typ="safe", pure=True)
    yaml.version = (1, 2)
    with open(path, encoding="utf-8") as file:
        return names(yaml.load(file))


def told(validator, value):
    errors = sorted(validator.iter_errors(value), key=lambda error: list(map(str, error.path)))
    return [f"{'.'.join(map(str, error.path))}: {error.message[:200]}" for error in errors] or None


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        schema = json.load(file)
    with open(sys.argv[2], encoding="utf-8") as file:
        wanted = json.load(file)
    jsonschema.Draft7Validator.check_schema(schema)
    whole = jsonschema.Draft7Validator(schema)
    files = {}
    for path in wanted["files"]:
        try:
            files[path] = told(whole, read(path))
        except (ruamel.yaml.error.YAMLError, UnicodeDecodeError, RecursionError) as error:
            files[path] = [f"no YAML: {str(error).splitlines()[0]}"]
    of_names = {}
    values = []
    for name, text in wanted["values"]:
        if name not in of_names:
            of = {"$ref": f"#/definitions/{name}", "definitions": schema["definitions"]}
            of_names[name] = jsonschema.Draft7Validator(of)
        values.append(of_names[name].is_valid(text))
    json.dump({"files": files, "values": values}, sys.stdout)


main()
