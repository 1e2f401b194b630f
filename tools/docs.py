"""Write the generated pages of docs/: commands, bibliography, unverified figures.

python tools/docs.py            write them
python tools/docs.py --check    exit 1 if one is out of date
"""

from __future__ import annotations

import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import click

from aerode.cli import VERBS

ROOT = Path(__file__).resolve().parent.parent
HEAD = "<!-- Written by tools/docs.py from the program itself; do not edit. -->\n\n"


def _help(command: click.Command, name: str) -> str:
    context = click.Context(command, info_name=name, max_content_width=80, terminal_width=80)
    return f"```text\n{command.get_help(context)}\n```\n"


def commands() -> str:
    """Every verb with its help text."""
    parts = [HEAD, "# Commands\n\n`aerode VERB --help` prints the same.\n"]
    for verb, (module, line) in VERBS.items():
        command: click.Command = import_module(module).command
        parts.append(
            f"\n## aerode {verb}\n\n{line[0].upper()}{line[1:]}.\n\n{_help(command, f'aerode {verb}')}"
        )
        if isinstance(command, click.Group):
            for name, sub in sorted(command.commands.items()):
                parts.append(f"\n### aerode {verb} {name}\n\n{_help(sub, f'aerode {verb} {name}')}")
    return "".join(parts)


def readme_table(text: str) -> str:
    """The README with its table of verbs renewed."""
    rows = "\n".join(f"| `{verb}` | {line} |" for verb, (_, line) in VERBS.items())
    table = f"<!-- verbs -->\n| verb | gives |\n|---|---|\n{rows}\n<!-- /verbs -->"
    return re.sub(r"<!-- verbs -->.*?<!-- /verbs -->", lambda _: table, text, flags=re.DOTALL)


def demo_session(text: str) -> str:
    """The README with what `aerode demo` prints now."""
    aerode = Path(sys.executable).with_name("aerode")
    shown = subprocess.run(
        [aerode, "demo", "--out", "out"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    block = f"<!-- demo -->\n```text\n{shown.stdout.rstrip()}\n```\n<!-- /demo -->"
    return re.sub(r"<!-- demo -->.*?<!-- /demo -->", lambda _: block, text, flags=re.DOTALL)


def pages(*, check: bool) -> dict[Path, str]:
    """Path and text of each generated page; a check leaves the demo's last digits alone."""
    readme = ROOT / "README.md"
    text = readme_table(readme.read_text("utf-8"))
    return {
        ROOT / "docs/reference/commands.md": commands(),
        readme: text if check else demo_session(text),
    }


def main() -> int:
    """Write or check."""
    check, late = "--check" in sys.argv, []
    for path, text in pages(check=check).items():
        there = path.read_text("utf-8") if path.exists() else ""
        if there == text:
            continue
        late.append(str(path.relative_to(ROOT)))
        if not check:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
    print(("out of date: " if check else "written: ") + (", ".join(late) or "nothing"))
    return 1 if check and late else 0


if __name__ == "__main__":
    raise SystemExit(main())
