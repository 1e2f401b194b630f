"""The pages of the documentation: every verb is there, every link leads somewhere."""

from __future__ import annotations

import json
import re
from importlib import import_module
from pathlib import Path

import click
import pytest

from aerode.cli import VERBS, main

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted(
    [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md"), *(ROOT / "changelog.d").glob("*.md")]
)


@pytest.mark.parametrize("page", PAGES, ids=[str(p.relative_to(ROOT)) for p in PAGES])
def test_links_lead_somewhere(page: Path) -> None:
    """Every relative link of a page names a file that is there."""
    for target in re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", page.read_text("utf-8")):
        if not target.startswith(("http://", "https://", "mailto:")):
            assert (page.parent / target).exists(), f"{page.name} → {target}"


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_is_documented(verb: str) -> None:
    """Each verb stands in the README and in the reference, and its help carries an example."""
    command: click.Command = import_module(VERBS[verb][0]).command
    context = click.Context(command, info_name=f"aerode {verb}")
    text = re.sub(r"\s+", " ", command.get_help(context))

    assert f"`{verb}`" in (ROOT / "README.md").read_text("utf-8")
    assert f"## aerode {verb}" in (ROOT / "docs" / "reference" / "commands.md").read_text("utf-8")
    assert re.search(rf"[Ee]xamples?:?.*aerode {verb}", text), "no example in --help"


def _leaves(command: click.Command) -> list[click.Command]:
    if isinstance(command, click.Group):
        return [leaf for sub in command.commands.values() for leaf in _leaves(sub)]
    return [command]


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_answers_scripts(verb: str) -> None:
    """Each verb has --json, and every option says what it does."""
    for command in _leaves(import_module(VERBS[verb][0]).command):
        names = {name for parameter in command.params for name in parameter.opts}
        if verb not in {"schema", "serve"}:  # what serve answers is served at /json
            assert "--json" in names, command.name
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert parameter.help, f"{verb}: {parameter.opts} says nothing"


def test_every_answer_has_a_schema(capsys: pytest.CaptureFixture[str]) -> None:
    """`aerode schema NAME` prints a JSON Schema for every name it lists."""
    with pytest.raises(SystemExit):
        main(["schema", "--json"])
    names = json.loads(capsys.readouterr().out)["names"]

    assert {
        "aerode.fit/1",
        "aerode.compare/1",
        "aerode.mix/1",
        "aerode.cautions/1",
        "aerode.log/1",
        "aerode.report/1",
    } <= set(names)
    for name in names:
        with pytest.raises(SystemExit):
            main(["schema", name])
        assert "properties" in json.loads(capsys.readouterr().out)


def test_the_changelog_fragments_have_a_known_kind() -> None:
    """A fragment's name says of what kind the change is."""
    for page in (ROOT / "changelog.d").glob("*.md"):
        if page.name != "README.md":
            assert page.name.split(".")[-2] in {"feature", "science", "fix", "docs"}, page.name
