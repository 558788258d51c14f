import ast
import re
from pathlib import Path

from tests.commands.command import run
from tests.docs.examples import TOP
from tests.every import every
from tests.source import nodes_of

PAGES = sorted([*TOP.glob("*.md"), *TOP.glob("docs/**/*.md"), *TOP.glob("samples/**/*.md")])
LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
FENCE = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)


@every("page", PAGES)
def test_links_resolve(page: Path) -> None:
    for target in LINK.findall(FENCE.sub("", page.read_text())):
        if target.startswith(("http://", "https://")):
            continue
        name, _, anchor = target.partition("#")
        linked = page.parent / name if name else page
        assert linked.exists(), f"{page.name} links to {target}"
        if anchor:
            assert anchor in _anchors(linked), f"{page.name} links to {target}"


def test_every_page_of_the_documents_can_be_reached_from_the_readme() -> None:
    reached: set[Path] = set()
    waiting = [TOP / "README.md"]
    while waiting:
        page = waiting.pop()
        if page in reached:
            continue
        reached.add(page)
        names = [target.partition("#")[0] for target in LINK.findall(page.read_text()) if "://" not in target]
        waiting += [(page.parent / name).resolve() for name in names if name.endswith(".md")]
    assert not set(TOP.glob("docs/**/*.md")) - reached


@every("page", PAGES)
def test_one_sentence_stands_on_one_line(page: Path) -> None:
    prose = re.sub(r"^\d+\. ", "", FENCE.sub("", page.read_text()), flags=re.MULTILINE)
    lines = [line for line in prose.splitlines() if not line.startswith("|")]
    assert [line for line in lines if re.search(r"[.!?]\)? [A-Z]", line)] == []


def test_every_command_is_documented_with_its_help() -> None:
    _, shown, _ = run(["--help"])
    commands = re.findall(r"^    ([a-z]+) +\S", shown.decode(), re.MULTILINE)
    assert {"bounds", "check", "flip", "shift"} <= set(commands)
    reference = (TOP / "docs/reference/commands.md").read_text().splitlines()
    for command in commands:
        assert f"## flipreg {command}" in reference
        assert f"$ flipreg {command} --help" in reference


def test_every_finding_code_is_documented() -> None:
    codes = _finding_codes()
    assert {"register", "flip", "datum", "bounds", "thickness"} <= codes
    headings = re.findall(r"^### (.*)$", (TOP / "docs/reference/findings.md").read_text(), re.MULTILINE)
    assert sorted(codes) == headings


def test_ci_runs_exactly_the_test_command_of_the_readme() -> None:
    commands = [block for block in FENCE.findall((TOP / "README.md").read_text()) if "-m pytest" in block]
    assert len(commands) == 1
    command = commands[0].strip("`").strip()
    assert "\n" not in command
    assert command in (TOP / ".ci" / "run").read_text().splitlines()


def _finding_codes() -> set[str]:
    """Return the codes that the checks give, out of the source: the first argument of every Finding."""
    codes = set()
    for module in (TOP / "flipreg").rglob("*.py"):
        for node in nodes_of(module.read_text()):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Finding":
                assert isinstance(node.args[0], ast.Constant), f"{module.name}:{node.lineno}: a code that varies"
                codes.add(str(node.args[0].value))
    return codes


def _anchors(page: Path) -> set[str]:
    """Return the anchors that a forge makes of a page's headings."""
    headings = re.findall(r"^#+ (.*)$", FENCE.sub("", page.read_text()), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}
