"""Draws what `guywire check` and `guywire compare` print as pictures, docs/pictures/check.svg and compare.svg, and keeps the
picture that `guywire audience` draws itself, audience.svg. Run it from the root of the repository, after `cargo build --release -p guywire`:
python3 docs/pictures/make.py
"""

import html
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import textwrap

ROOT = pathlib.Path(__file__).resolve().parents[2]
RULES = ["key-in-clear", "color-code-differs-from-repeater", "undefined-name", "outside-model-band", "zone-over-capacity"]
COLUMNS = 118
COLORS = {"31": "#d1495b", "33": "#c98a1b", "32": "#3a7d44", "34": "#3b6ea5", "36": "#2a7f86", "35": "#8a4f9e",
          "91": "#d1495b", "93": "#c98a1b", "92": "#3a7d44", "94": "#3b6ea5", "96": "#2a7f86", "95": "#8a4f9e"}


def output(arguments, folder=ROOT, code=0):
    env = dict(os.environ, CLICOLOR_FORCE="1", NO_COLOR="")
    env.pop("NO_COLOR")
    program = ROOT / "target/release/guywire"
    run = subprocess.run([program, *arguments], cwd=folder, env=env, capture_output=True, text=True)
    assert run.returncode == code, run.stderr
    return run.stdout


def compared():
    """What is said of the demo after the cranes moved to slot 1."""
    with tempfile.TemporaryDirectory() as folder:
        harbor = pathlib.Path(folder) / "harbor"
        shutil.copytree(ROOT / "docs/examples/saltmarsh", harbor)
        author = ["-c", "user.name=Harbor", "-c", "user.email=harbor@example.org"]
        for words in (["init", "--quiet", "-b", "main"], ["add", "--all"], ["commit", "--quiet", "-m", "state"]):
            subprocess.run(["git", *author, *words], cwd=harbor, check=True)
        plan = harbor / "cranes.plan.toml"
        before = plan.read_text(encoding="utf-8")
        plan.write_text(before.replace('slot = 2\ncall = "Cranes"', 'slot = 1\ncall = "Cranes"', 1), encoding="utf-8")
        assert plan.read_text(encoding="utf-8") != before
        # The name of the commit would be another each time.
        return re.sub(r" \([0-9a-f]{12}\)", "", output(["compare", "main"], harbor)).rstrip().split("\n")


def chosen(text):
    """The findings that the picture shows, in their order."""
    plain = re.compile(r"\x1b\[[0-9;]*m")
    findings = text.split("\n\n")
    picked = [finding for finding in findings if any(f"[{rule}]" in plain.sub("", finding) for rule in RULES)]
    assert len(picked) == len(RULES), [plain.sub("", finding) for finding in picked]
    return "\n\n".join(picked).split("\n")


def pieces(line):
    """Runs of one look: (text, color, bold)."""
    color, bold, found = None, False, []
    for part in re.split(r"(\x1b\[[0-9;]*m)", line):
        if part.startswith("\x1b["):
            for code in part[2:-1].split(";"):
                if code in ("", "0"):
                    color, bold = None, False
                elif code == "1":
                    bold = True
                elif code in COLORS:
                    color = COLORS[code]
        elif part:
            found.append((part, color, bold))
    return found


def wrapped(line):
    """The line cut at blanks into lines of at most COLUMNS, each with its looks."""
    runs = pieces(line)
    text = "".join(run[0] for run in runs)
    looks = [(color, bold) for run, color, bold in runs for _ in run]
    lines, at = [], 0
    for part in textwrap.wrap(text, COLUMNS, drop_whitespace=False, subsequent_indent="", break_on_hyphens=False) or [""]:
        shown = part.lstrip() if lines else part
        lines.append((shown, looks[at + len(part) - len(shown):at + len(part)]))
        at += len(part)
    return lines


def svg(lines, title):
    rows = [row for line in lines for row in wrapped(line)]
    width, height, step = COLUMNS * 7.3 + 32, len(rows) * 17 + 28, 17
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height}" role="img">',
           f"<title>{title}</title>",
           '<rect width="100%" height="100%" rx="6" fill="#fbfaf7" stroke="#d8d4ca"/>',
           '<g font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="12" fill="#2b2b2b">']
    for number, (text, looks) in enumerate(rows):
        spans, start = [], 0
        for end in range(1, len(text) + 1):
            if end == len(text) or looks[end] != looks[start]:
                color, bold = looks[start]
                style = (f' fill="{color}"' if color else "") + (' font-weight="bold"' if bold else "")
                # Browsers collapse plain blanks, whatever an element above says.
                shown = html.escape(text[start:end]).replace(" ", "\u00a0")
                spans.append(f"<tspan{style}>{shown}</tspan>")
                start = end
        out.append(f'<text x="16" y="{24 + number * step}">{"".join(spans)}</text>')
    return "\n".join([*out, "</g>", "</svg>", ""])


if __name__ == "__main__":
    found = chosen(output(["check", "docs/examples/saltmarsh-with-faults"], code=1))
    pictures = {
        "check": svg(found, "guywire check on the demo with planted mistakes"),
        "compare": svg(compared(), "guywire compare on the demo after one slot changed"),
        "audience": output(["audience", "docs/examples/saltmarsh", "--format", "svg"]),
    }
    for name, picture in pictures.items():
        (ROOT / f"docs/pictures/{name}.svg").write_text(picture, encoding="utf-8")
