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
# Changes of the demo that bring every part of a comparison about: file, before, after.
COMPARED = (
    ("cranes.plan.toml", 'slot = 2\ncall = "Cranes"', 'slot = 1\ncall = "Cranes"'),
    ("common/places.plan.toml", "color_code = 5", "color_code = 6"),
    ("harbor.plan.toml", "rx_mhz = 451.8375", "rx_mhz = 451.85"),
    ("fleet.csv", "21012,Yard 2", "21017,Yard 2"),
    ("fleet.csv", "21021,Lock 1,HH-0021,lock,2026-11,issued", "21021,Lock 1,HH-0021,lock,2026-11,lost"),
)


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


def compared(guywire, demo, folder):
    """What the program says of the demo after some changes, in a repository of its own."""
    shutil.copytree(demo, folder)
    author = ["-c", "user.name=Harbor", "-c", "user.email=harbor@example.org"]
    for words in (["init", "--quiet", "-b", "main"], ["add", "--all"], ["commit", "--quiet", "-m", "state"]):
        subprocess.run(["git", *author, *words], cwd=folder, check=True)
    for name, before, after in COMPARED:
        path = folder / name
        text = path.read_text(encoding="utf-8")
        if before not in text:
            sys.exit(f"{name} of the demo does not say {before!r}")
        path.write_text(text.replace(before, after), encoding="utf-8")
    run = subprocess.run([guywire, "compare", "main", "--format", "json"], cwd=folder, capture_output=True, check=False)
    if run.returncode != 0 or run.stderr:
        sys.exit(f"guywire compare: code {run.returncode}, {run.stderr.decode()}")
    return run.stdout


def check_comparison(options, schema):
    """The comparison against its schema, and wrong ones that it must refuse."""
    path = options.work / "compare.json"
    path.write_bytes(compared(options.guywire, options.root / "docs/examples/saltmarsh", options.work / "harbor"))
    good, said = valid(schema, [path])
    if not good:
        sys.exit(f"compare:\n{said}")
    document = json.loads(path.read_bytes())
    for part in (document["radios"]["write_again"], document["licenses"]["newly_used"], document["fixed"], document["pairs"]):
        if not part:
            sys.exit("the comparison of the demo lacks a part, so that its form is not checked")
    wrongs = [
        changed(document, ["version"], 2),
        changed(document, ["radios", "write_again", 0, "reach"], "paper"),
        changed(document, ["pairs", 0, "senders"], []),
        changed(document, ["licenses", "newly_used", 0, "granted"], None),
        changed(document, ["tables", 0, "value"], "secret"),
    ]
    for number, wrong_one in enumerate(wrongs):
        path = options.work / f"wrong-{number}.compare.json"
        path.write_text(json.dumps(wrong_one), encoding="utf-8")
        if valid(schema, [path])[0]:
            sys.exit(f"{path.name} is taken for valid")
    print(f"compare: 1 document valid, {len(wrongs)} wrong ones refused")


def check_audience(options, schema):
    """The matrix and one transmission against their schema, and wrong ones that it must refuse."""
    demo = options.root / "docs/examples/saltmarsh"
    asked = {"matrix": [], "transmission": ["--channel", "Gate"], "radio": ["--radio", "Crane 1"]}
    documents = {}
    for name, words in asked.items():
        command = [options.guywire, "audience", demo, "--format", "json", *words]
        run = subprocess.run(command, capture_output=True, check=False)
        if run.returncode != 0 or run.stderr:
            sys.exit(f"guywire audience: code {run.returncode}, {run.stderr.decode()}")
        path = options.work / f"{name}.audience.json"
        path.write_bytes(run.stdout)
        documents[path] = json.loads(run.stdout)
    good, said = valid(schema, list(documents))
    if not good:
        sys.exit(f"audience:\n{said}")
    matrix, transmission, radio = documents.values()
    if radio["transmissions"][0]["sender"] != "Crane 1" or not transmission["transmissions"][0]["groups"]:
        sys.exit("the audience of the demo lacks a part, so that its form is not checked")
    wrongs = [
        changed(matrix, ["version"], 2),
        changed(matrix, ["matrix"], None),
        changed(matrix, ["transmissions"], transmission["transmissions"]),
        changed(matrix, ["matrix", "answers", 0, 0], "H"),
        changed(matrix, ["matrix", "senders", 0, "stations"], -1),
        changed(matrix, ["matrix", "receivers", 0, "radios"], []),
        changed(transmission, ["transmissions", 0, "plan"], "a\\b"),
        changed(transmission, ["transmissions", 0, "groups", 0, "answer"], "standing-by"),
        changed(transmission, ["transmissions", 0, "groups", 0, "on"], None),
        changed(transmission, ["caution"], None),
    ]
    for number, wrong_one in enumerate(wrongs):
        path = options.work / f"wrong-{number}.audience.json"
        path.write_text(json.dumps(wrong_one), encoding="utf-8")
        if valid(schema, [path])[0]:
            sys.exit(f"{path.name} is taken for valid")
    print(f"audience: {len(documents)} documents valid, {len(wrongs)} wrong ones refused")


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
    check_comparison(options, options.root / "docs/compare.schema.json")
    check_audience(options, options.root / "docs/audience.schema.json")


main()
