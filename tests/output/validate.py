"""Validates the program's JSON and SARIF with check-jsonschema, and shows that the schemas would find what is wrong."""

import argparse
import copy
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

FORMATS = ("json", "sarif")


def pages(folder):
    """The files of the bad plan of each rule, by the rule's name, as its page has them."""
    found = {}
    for book in sorted(folder.glob("*.md")):
        rule, heading, name, lines = None, None, None, []
        for line in book.read_text(encoding="utf-8").splitlines():
            if name is None and line.startswith("```"):
                name = (line.split() + [None])[1] or "harbor.plan.toml"
                lines = []
            elif line.startswith("```"):
                if heading in ("Bad", "Beside"):
                    found.setdefault(rule, {})[name] = "\n".join(lines) + "\n"
                name = None
            elif name is not None:
                lines.append(line)
            elif line.startswith("## "):
                rule, heading = line[3:], None
            elif line.startswith("### "):
                heading = line[4:]
    return found


def written(guywire, folder, form):
    """What the program says of a folder. Exit code 1: something was found."""
    run = subprocess.run([guywire, "check", "--format", form], cwd=folder, capture_output=True, check=False)
    if run.returncode not in (0, 1) or run.stderr:
        sys.exit(f"guywire check --format {form} in {folder}: code {run.returncode}, {run.stderr.decode()}")
    return run.stdout


def valid(schema, files):
    """Whether all of the files are as the schema has it, and what check-jsonschema says."""
    tool = Path(sys.executable).parent / "check-jsonschema"
    run = subprocess.run(
        [tool, "--schemafile", schema, *files], capture_output=True, text=True, check=False
    )
    return run.returncode == 0, run.stdout + run.stderr


def rules_of(form, document):
    if form == "json":
        return {finding["rule"] for finding in document["findings"]}
    return {result["ruleId"] for result in document["runs"][0]["results"]}


def secrets(plan):
    """Material and codes that a plan has written in the clear."""
    return re.findall(r'^(?:value|power_on_code|programming_code)\s*=\s*"([^"]{4,})"', plan, flags=re.MULTILINE)


def changed(document, path, value):
    """The document with another value at a path, or without the member where the value is None."""
    document = copy.deepcopy(document)
    place = document
    for step in path[:-1]:
        place = place[step]
    if value is None:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return document


def wrong(form, document):
    """Documents that the schema must refuse."""
    if form == "json":
        finding = ["findings", 0]
        yield changed(document, ["version"], 2)
        yield changed(document, [*finding, "message"], None)
        yield changed(document, [*finding, "level"], "fatal")
        yield changed(document, [*finding, "path"], "a\\b")
        yield changed(document, [*finding, "start", "line"], 0)
        yield changed(document, [*finding, "start", "column"], "five")
        yield changed(document, [*finding, "key"], "12")
        yield changed(document, [*finding, "excerpt"], "value = 1")
        return
    result = ["runs", 0, "results", 0]
    yield changed(document, ["version"], "2.0.0")
    yield changed(document, [*result, "message"], "text")
    yield changed(document, [*result, "level"], "fatal")
    place = [*result, "locations", 0, "physicalLocation", "region"]
    yield changed(document, [*place, "startLine"], "five")
    yield changed(document, [*place, "snippet"], "text")


def main():
    parser = argparse.ArgumentParser()
    for name in ("guywire", "root", "work", "sarif-schema"):
        parser.add_argument(f"--{name}", type=Path, required=True)
    options = parser.parse_args()
    schemas = {"json": options.root / "docs/finding.schema.json", "sarif": options.sarif_schema}

    shutil.rmtree(options.work, ignore_errors=True)
    faulty = options.root / "docs/examples/saltmarsh-with-faults"
    shutil.copytree(faulty, options.work / "plans" / "demo")
    bad = pages(options.root / "docs/rules")
    if len(bad) < 50:
        sys.exit(f"only {len(bad)} rules have a bad plan")
    for rule, files in bad.items():
        for name, text in files.items():
            path = options.work / "plans" / rule / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")

    plans = sorted(faulty.rglob("*.plan.toml"))
    material = [secret for plan in plans for secret in secrets(plan.read_text(encoding="utf-8"))]
    if not material:
        sys.exit("the demo with faults has no key in the clear to look for")
    documents = {form: [] for form in FORMATS}
    for folder in sorted((options.work / "plans").iterdir()):
        for form in FORMATS:
            text = written(options.guywire, folder, form)
            if text != written(options.guywire, folder, form):
                sys.exit(f"{folder.name}: {form} differs from run to run")
            if any(secret.encode() in text for secret in material):
                sys.exit(f"{folder.name}: {form} tells a secret")
            if folder.name in bad and folder.name not in rules_of(form, json.loads(text)):
                sys.exit(f"{folder.name}: {form} does not tell what is wrong")
            path = options.work / f"{folder.name}.{form}.json"
            path.write_bytes(text)
            documents[form].append(path)

    for form in FORMATS:
        good, said = valid(schemas[form], documents[form])
        if not good:
            sys.exit(f"{form}:\n{said}")
        demo = json.loads((options.work / f"demo.{form}.json").read_bytes())
        for number, document in enumerate(wrong(form, demo)):
            path = options.work / f"wrong-{number}.{form}.json"
            path.write_text(json.dumps(document), encoding="utf-8")
            if valid(schemas[form], [path])[0]:
                sys.exit(f"{path.name} is taken for valid")
        print(f"{form}: {len(documents[form])} documents valid, {number + 1} wrong ones refused")


main()
