"""The page on the rules: what each asks, at which levels, by which number from where, and a finding that was made."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import get_args

import platekit
from platekit.checks import RULES, Level, Rule, Verdict
from platekit.export.text.verdict import verdict_text
from platekit.layout import Layout

from .examples import DRAWINGS, Plate, plates, sound
from .spec_page import key_of, sections

ROOT = Path(platekit.__file__).parents[1]
KINDS = ("published", "common practice", "from memory", "ours", "geometry", "each row with its kind", "no number")
"""What the source of a rule's number is called."""

ACCEPTED = {"one": "by feature", "both": "by both features", "never": "never"}
"""How a rule's finding is accepted, in a word or two."""

INTRO = """\
# Rules

A finding names its rule, says what was found and what is needed, where, and what would do. Its level is *stop* (nothing
that could be cut is written), *warn* or *note*. A finding that you have judged is accepted in the spec, feature by
feature, with the figure that was judged (`found`) and the reason, which is printed on every sheet. Once the figure is
worse, the finding is open again:

```yaml
accept:
  - {rule: edge, feature: motor.3, found: 9.5, because: the edge is welded to the frame there}
```

Where two things are in each other's way, both are named (`feature: [cable, motor.3]`); what cannot be made, or not be
used, is never accepted. The table below says so.

Where a number comes from is told in three kinds: *published* (a standard or handbook), *common practice* (no single
source), *from memory* (nobody could look it up here); *ours* was chosen for this program, *geometry* needs no source.
The rows of the tables, each with its kind, are in [tables.md](tables.md), the keys of the spec in [spec.md](spec.md).

The findings below are the program's own: each was made by judging a sound plate (they stand at the end of the page)
with the lines above it changed.
"""


class RuleUntold(ValueError):
    """A rule without what the page needs."""


def found() -> dict[tuple[str, Level], tuple[Plate, str]]:
    """For each rule and level the first plate that has such a finding, and the finding as the program prints it."""
    first: dict[tuple[str, Level], tuple[Plate, str]] = {}
    judged: dict[str, tuple[Layout, Verdict]] = {}
    told: dict[str, list[str]] = {}
    for rule, plate in plates():
        if plate.text not in judged:
            spec = platekit.loads(plate.text, str(ROOT / "plate.yaml"))
            spec.files.update(DRAWINGS)
            layout = platekit.lay_out(spec)
            judged[plate.text] = layout, platekit.check(layout)
        layout, verdict = judged[plate.text]
        # advice is tried, which is most of the work, only where the plate has something that none before it had
        if not {(one.rule, one.level) for one in verdict.findings if one.rule == rule} - first.keys():
            continue
        if plate.text not in told:
            if not any(mount.mass for mount in layout.spec.model.mounts.values()):
                # trying an edit of a plate that carries a mass bends it anew, seconds each time
                verdict = platekit.advised(layout, verdict)
            told[plate.text] = verdict_text(layout, verdict).split("\n\n")
        for level in get_args(Level):
            said = next((part for part in told[plate.text] if part.startswith(f"{level:<5} {rule}: ")), None)
            if said is not None:
                first.setdefault((rule, level), (plate, said))
    return first


def keys() -> Iterator[str]:
    """Every key of the spec, with its place."""
    for section in sections():
        for name, field in section.model.model_fields.items():
            for place in section.places:
                yield f"{place}.{key_of(name, field)}".lstrip(".")


def _changed(rule: Rule) -> str:
    if not rule.keys:
        return "No key of the spec changes that."
    return f"Changed by {', '.join(f'`{key}`' for key in rule.keys)}."


def _section(rule: Rule, made: dict[tuple[str, Level], tuple[Plate, str]]) -> Iterator[str]:
    told = [level for level in get_args(Level) if (rule.name, level) in made]
    if not told or set(told) != set(rule.levels):
        raise RuleUntold(
            f"rule {rule.name} says that its levels are {', '.join(rule.levels) or 'none'}; its examples show "
            f"{', '.join(told) or 'none'}: put it right in its Rule, or add a plate to tests/docs/examples.py"
        )
    yield f"## {rule.name}"
    yield f"\nGuards against {rule.guards}. Level: {', '.join(told)}.\n"
    yield f"Goes by: {rule.default} ({rule.source}). {_changed(rule)}\n"
    for plate, same in groupby((made[rule.name, level] for level in told), key=lambda pair: pair[0]):
        changed = ["```yaml", *plate.lines, "```"] if plate.lines else ["On the sound one as it is:"]
        yield "\n".join([*changed, "", "```", "\n\n".join(said for _, said in same), "```", ""])


def rules_page() -> str:
    """Every rule with a finding at each of its levels."""
    known = set(keys())
    strange = [f"{rule.name}: {key}" for rule in RULES for key in rule.keys if key not in known]
    if strange:
        raise RuleUntold(f"keys that the spec has not: {', '.join(strange)}")
    bare = [rule.name for rule in RULES if not rule.default or not any(kind in rule.source for kind in KINDS)]
    if bare:
        raise RuleUntold(f"no default, or no kind in the source: {', '.join(bare)}; the kinds are {', '.join(KINDS)}")
    made = found()
    parts = [INTRO, "| rule | guards against | level | accepted |\n| --- | --- | --- | --- |"]
    parts += [
        f"| [{rule.name}](#{rule.name}) | {rule.guards} | {', '.join(rule.levels)} | {ACCEPTED[rule.acceptable]} |"
        for rule in RULES
    ]
    parts.append("")
    for rule in RULES:
        parts += _section(rule, made)
    parts.append("## The plates that were changed")
    parts += [f"\n{title}:\n\n```yaml\n{text}```" for title, text in sound().items()]
    return "\n".join(parts) + "\n"
