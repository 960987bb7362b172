"""What the page can ask for, by name: plain data in, plain data out.

Each act that changes the spec names the state it was made against. All of them give the whole sheet back, so that a
page which missed something is right again after any act.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from typing import Any, Final

from platekit.checks.acceptance import figure
from platekit.checks.finding import Remedy
from platekit.errors import PlatekitError, SpecError
from platekit.page.answers import (
    Answer,
    answer_of,
    findings_told,
    problem_in_words,
    problems_told,
    trial_answer,
    trial_word,
    trial_words,
)
from platekit.page.asked import Asked, BadRequest
from platekit.page.boxes import blank, filled_in, reading_of, value_of
from platekit.page.desk import Desk, Edit, Errand, Stale, problems_of, with_edits
from platekit.page.holes import odds
from platekit.page.new_job import with_countershaft
from platekit.page.offers import offers
from platekit.page.old_face import acted
from platekit.page.own_table import take_coupon, write_coupon
from platekit.page.picture import frame_written, outline_as_body, outline_written, places_put, seen
from platekit.page.scene import dragged, front, scene
from platekit.spec.editing import has_value, without_value
from platekit.studies.advised import trial_of

MOST_PLACES: Final = 6
"""Most places that are shown at once (ours)."""


def done(desk: Desk, said: Mapping[str, Any]) -> Answer:
    """What one request comes to: the act's own answer, or why it was refused, in one line for a shop person."""
    asked = Asked(said)
    name = said.get("act")
    act = ACTS.get(name) if isinstance(name, str) else None
    if act is None:
        raise BadRequest("found an act that there is none of")
    try:
        return act(desk, asked)
    except Stale as stale:
        # Not only the refusal: the page shows a text that is gone, and needs the one that is there to go on.
        return {**answer_of(desk, desk.now()), "refused": str(stale)}
    except SpecError as error:
        first = "; ".join(problem_in_words(one) for one in error.problems[:3])
        return {"refused": first, "problems": problems_told(error.problems)}
    except PlatekitError as error:
        return {"refused": str(error)}


# ------------------------------------------------------------------------------------------- looking


def look(desk: Desk, asked: Asked) -> Answer:
    """Everything; or only that nothing has changed, where the page says which state it has."""
    now = desk.now()
    if asked.said.get("state") == now.state and not asked.flag("all"):
        return {"same": True}
    return answer_of(desk, now)


def advise(desk: Desk, asked: Asked) -> Answer:
    """The findings with what is known of their advice so far: the page asks again until all of it was tried."""
    now, given = desk.advised()
    verdict = now.verdict
    return {
        "state": now.state,
        "done": now.advised or not now.fresh,
        "findings": []
        if verdict is None
        else findings_told(verdict, None if now.spec is None else now.spec.top, given),
    }


def try_advice(desk: Desk, asked: Asked) -> Answer:
    """One idea of what would do against a finding, tried on the whole plate: whether it is gone, and at what cost."""
    now = desk.now()
    if now.state != asked.state or now.layout is None or now.verdict is None:
        raise Stale(f"{desk.path.name} was changed meanwhile; the page now shows what it holds")
    rule, features = asked.text("rule"), asked.said.get("features")
    finding = next((f for f in now.verdict.findings if f.rule == rule and list(f.features) == features), None)
    if finding is None:
        raise PlatekitError("that finding is not there any more")
    remedies = tuple(Remedy(field, value) for field, value in asked.values)
    found = trial_of(now.layout, now.verdict, finding, remedies)
    return {"state": now.state, "good": found.good, "said": trial_words(found)}


# ------------------------------------------------------------------------------------------- editing


def edit(desk: Desk, asked: Asked) -> Answer:
    """Boxes filled in: [[field, what was typed, kind of box], ...]."""
    edits = asked.typed

    def edited(text: str) -> str:
        for field, value in edits:
            # a tapped hole is drilled for its thread: the clearance hole that stood there goes with the nut
            hole = f"{field.removesuffix('.screws.into')}.pattern.hole"
            if field.endswith(".screws.into") and value == "plate" and has_value(text, hole):
                text = without_value(text, hole)
        return with_edits(text, edits)

    return answer_of(desk, desk.change(asked.state, edited))


def set_values(desk: Desk, asked: Asked) -> Answer:
    """The edits of an advice, as they were told: [[field, value], ...]."""
    edits = asked.values
    return answer_of(desk, desk.change(asked.state, lambda text: with_edits(text, edits)))


def preview(desk: Desk, asked: Asked) -> Answer:
    """What some edits would change: the lines of the spec before and after, and what is found then."""
    now = desk.now()
    edits = asked.values
    changed = with_edits(now.text, edits)
    # No lines round the change (n=0): the page shows it beside the whole text.
    lines = difflib.unified_diff(now.text.splitlines(), changed.splitlines(), lineterm="", n=0)
    layout, verdict = desk.trial(asked.state, edits)
    return {
        "lines": [line for line in lines if line[:3] not in ("---", "+++") and line[:2] != "@@"],
        "scene": scene(layout, verdict),
        "verdict": trial_word(layout, verdict),
    }


def take_drive(desk: Desk, asked: Asked) -> Answer:
    """A stock drive from the list; a rim that is narrower than the belts it is to carry is made as wide."""
    from platekit.checks.motor import rim_width

    edits = asked.values
    wider = [
        (remedy.field, remedy.value)
        for finding in rim_width(desk.laid(asked.state, edits))
        for remedy in finding.advice.remedies
    ]
    return answer_of(desk, desk.change(asked.state, lambda text: with_edits(text, [*edits, *wider])))


def put_countershaft(desk: Desk, asked: Asked) -> Answer:
    """A countershaft and a second belt between motor and machine, of what was measured of its blocks."""
    now, read = desk.now(), asked.said.get("read")
    if not isinstance(read, Mapping) or not all(isinstance(one, str) for one in read.values()):
        raise BadRequest("found no answers")
    if now.layout is None or not now.fresh:
        raise PlatekitError("the plate has to be laid out first")
    layout = now.layout
    return answer_of(desk, desk.change(asked.state, lambda _: with_countershaft(layout, read)))


def take_out(desk: Desk, asked: Asked) -> Answer:
    """A value and its key go; a group that this leaves empty goes with them."""
    field = asked.text("field")
    return answer_of(desk, desk.change(asked.state, lambda text: without_value(text, field)))


def blank_form(desk: Desk, asked: Asked) -> Answer:
    """The boxes to fill in before something new can be added."""
    now = desk.now()
    if now.spec is None:
        raise SpecError(now.problems)
    return {"offer": blank(asked.text("field"), now.spec.top)}


def add(desk: Desk, asked: Asked) -> Answer:
    """Something new: boxes by their path below a field, {'a.b': [typed, kind]}, put in as one group."""
    field, boxes = asked.text("field"), asked.said.get("boxes")
    if not isinstance(boxes, Mapping):
        raise BadRequest("found no boxes")
    value: Any = {}
    for path, typed in boxes.items():
        if not isinstance(typed, list):
            raise BadRequest("found a box without what was typed in it")
        one = Asked({"edits": [[path or "value", *typed]]}).typed[0][1]
        # What is no group has a single box, with no path below the field.
        if not path:
            value = one
            continue
        below = value
        *steps, last = str(path).split(".")
        for step in (*steps, last):
            # one box is a value, and another lies below it
            if not isinstance(below, dict):
                raise BadRequest("found a box below another")
            above, below = below, below.setdefault(step, {})
        above[last] = one
    return answer_of(desk, desk.change(asked.state, lambda text: with_edits(text, [(field, value)])))


def fill_in(desk: Desk, asked: Asked) -> Answer:
    """What a finding asks for, with the figures that were typed: {'field': [typed, kind]}."""
    boxes = asked.said.get("boxes")
    if not isinstance(boxes, Mapping) or not all(isinstance(one, list) for one in boxes.values()):
        raise BadRequest("found no boxes")
    typed = dict(Asked({"edits": [[field, *one] for field, one in boxes.items()]}).typed)
    edits = filled_in(asked.values, typed)
    return answer_of(desk, desk.change(asked.state, lambda text: with_edits(text, edits)))


def save(desk: Desk, asked: Asked) -> Answer:
    """The whole text as typed in the spec's own box."""
    typed = asked.text("text")
    # A browser's box knows one kind of line end; a file that has the other keeps it.
    if "\r\n" in desk.now().text:
        typed = typed.replace("\r\n", "\n").replace("\n", "\r\n")
    return answer_of(desk, desk.change(asked.state, lambda _: typed, whatever=True))


def proofread(desk: Desk, asked: Asked) -> Answer:
    """What is wrong with a text that is being typed; nothing is written."""
    return {"problems": problems_told(problems_of(desk.path, asked.text("text")))}


def undo(desk: Desk, asked: Asked) -> Answer:
    """One step of the page back."""
    return answer_of(desk, desk.undo(asked.state))


def redo(desk: Desk, asked: Asked) -> Answer:
    """One step forward again."""
    return answer_of(desk, desk.redo(asked.state))


def accept(desk: Desk, asked: Asked) -> Answer:
    """A finding judged and accepted at its places, with the reason; the figure that was judged goes with it."""
    rule, reason, places = asked.text("rule"), asked.text("reason").strip(), asked.said.get("places")
    now = desk.now()
    fitting = [
        one
        for one in (now.verdict.findings if now.verdict is not None else ())
        if one.rule == rule and isinstance(places, list) and list(one.features) in places and one.accepted is None
    ]
    if not fitting or now.layout is None or now.spec is None:
        raise PlatekitError("that finding is not there any more")
    if not reason:
        raise PlatekitError("found no reason; say in a few words why it may be so")
    entries = []
    for one in fitting:
        entry: dict[str, Any] = {
            "rule": rule,
            "feature": list(one.features) if len(one.features) > 1 else one.features[0],
        }
        # The figure goes with it: an acceptance covers what was judged, and no worse one that comes later.
        if one.found is not None:
            entry["found"] = value_of(figure(now.layout, one), "words")
        entries.append({**entry, "because": reason})
    count = len(now.spec.model.accept)

    def accepted(text: str) -> str:
        edits: list[Edit] = [(f"accept.{count + k}", entry) for k, entry in enumerate(entries)]
        return with_edits(text, edits if count else [("accept", entries)])

    return answer_of(desk, desk.change(asked.state, accepted))


def on_old_face(desk: Desk, asked: Asked) -> Answer:
    """Something done to an old face: put, moved, named, taken off, read, or its frame chosen."""
    return answer_of(desk, acted(desk, asked))


# ----------------------------------------------------------------------------------------- dragging


def drag(desk: Desk, asked: Asked) -> Answer:
    """A handle at a point of its picture: tried while it is dragged, written when it is let go."""
    now = desk.now()
    if now.layout is None:
        raise BadRequest("found no plate to drag on")
    try:
        edits = dragged(now.layout, asked.text("handle"), asked.point, asked.flag("fine"))
    except KeyError:
        raise PlatekitError("that handle is not there any more") from None
    if asked.flag("write"):
        return answer_of(desk, desk.change(asked.state, lambda text: with_edits(text, edits)))
    return trial_answer(desk, asked.state, edits, asked.said.get("seen"))


def try_values(desk: Desk, asked: Asked) -> Answer:
    """A slider that is being pulled: what its value comes to, nothing written."""
    return trial_answer(desk, asked.state, asked.typed)


def try_odds(desk: Desk, asked: Asked) -> Answer:
    """The odds that each mount bolts up with some edits, nothing written: up to a second where they must be drawn."""
    return {"odds": odds(desk.laid(asked.state, asked.typed))}


# ----------------------------------------------------------------------- places, drives, tables, files


def places(desk: Desk, asked: Asked) -> Answer:
    """Places of a mount that nothing stops, each as a small scene to pick."""
    from platekit.export.picture.places import merit_words, where_words
    from platekit.jobs.place import find_places
    from platekit.studies.place import nothing_found, place_edits

    now = desk.now()
    # A second search that is begun ends the one before: the page shows one.
    desk.errand.leave()
    errand = desk.errand = Errand()
    search = find_places(desk.path, asked.text("mount"), "balance", MOST_PLACES, errand.tell)
    # no picture of nothing: what is most in the way has to be changed first
    if not search.places:
        raise nothing_found(search)
    return {
        "state": now.state,
        "places": [
            {
                "number": k,
                "where": where_words(search, place),
                "merits": merit_words(search, place),
                "scene": front(place.layout, place.verdict),
                "edits": [list(edit) for edit in place_edits(search, k)],
            }
            for k, place in enumerate(search.places, 1)
        ],
    }


def how_far(desk: Desk, asked: Asked) -> Answer:
    """How far the search for a place has come; with `leave` it ends, and its own answer says so."""
    if asked.flag("leave"):
        desk.errand.leave()
    return {"said": desk.errand.said}


def drives(desk: Desk, asked: Asked) -> Answer:
    """Stock belts and pulleys ranked for the wanted speeds, each with the edits that take it."""
    from platekit.jobs.drive_choices import ChoiceWanted, choices_figures, choices_for
    from platekit.studies.stock_drives import choice_edits

    now = desk.now()
    if now.layout is None or not now.layout.belts:
        raise PlatekitError("there is no belt drive in this job yet; add `drive` to the sheet first")
    section, driver, driven, apart = (
        str(asked.said.get(key) or "").strip() for key in ("section", "driver", "driven", "apart")
    )
    belts = now.layout.belts
    which = next((k for k, belt in enumerate(belts) if belt.field == asked.said.get("belt")), len(belts) - 1)
    wanted = ChoiceWanted(
        largest_driver=driver or None,
        largest_driven=driven or None,
        sections=(section,) if section else (),
        belt=which,
        apart=apart or None,
    )
    choices = choices_for(now.layout, wanted)
    edits = [[list(edit) for edit in choice_edits(now.layout, one, which)] for one in choices.best]
    return {"state": now.state, **choices_figures(choices), "edits": edits}


def look_up(desk: Desk, asked: Asked) -> Answer:
    """Names from the tables for a box, as far as typed: [{name, about}, ...], and how many more there are."""
    now = desk.now()
    names, more = offers(asked.text("field"), asked.text("typed"), now.layout)
    return {"names": names, "more": more}


def write_files(desk: Desk, asked: Asked) -> Answer:
    """Every file of the plate, as `platekit make` writes them; the cut files only while no stop is open."""
    from platekit.export.publishing import FilesWanted
    from platekit.jobs.make import make

    told = make(desk.path, desk.out, FilesWanted(solid=asked.flag("solid"), kerf=asked.flag("kerf")))
    return {**answer_of(desk, desk.now()), "told": told.text, "written": [path.name for path in told.written]}


def write_paper(desk: Desk, asked: Asked) -> Answer:
    """The 1:1 paper by itself; for a printer that is named, corrected by its bars, as every later one is."""
    from platekit.jobs.template import PrintWanted, template

    # An empty box means that nothing was measured, and the printer as it was last corrected is taken.
    measured = _bars(str(asked.said.get("measured") or ""))
    printer = str(asked.said.get("printer") or "").strip()
    wanted = PrintWanted(measured=measured or None, printer=printer or None)
    if not printer:
        told = template(desk.path, desk.out, wanted)
    else:
        now = desk.now()
        if now.state != asked.state or now.layout is None:
            raise Stale(f"{desk.path.name} was changed meanwhile; the page now shows what it holds")
        if not now.readable:
            raise SpecError(now.problems)
        paper = now.layout.paper
        # Stored or tried first: a printer that there is none of must not stand in the spec. Then the spec names it, or
        # the next paper would be plain again, and this one is made.
        if measured or paper.printer != printer:
            template(desk.path, desk.out, wanted)

        def for_it(text: str) -> str:
            text = without_value(text, "paper.measured") if paper.measured is not None else text
            return with_edits(text, [("paper.printer", printer)])

        if paper.printer != printer:
            desk.change(asked.state, for_it)
        told = template(desk.path, desk.out, PrintWanted(printer=printer))
    return {**answer_of(desk, desk.now()), "told": told.text, "written": [path.name for path in told.written]}


def _bars(said: str) -> str:
    """Bars as typed, name=value and so on, each read as a caliper's reading is: a bare fraction is in inches."""
    pairs = [one.partition("=") for one in said.split(",")]
    return ",".join(f"{name}{sign}{reading_of(value.strip()) if value.strip() else ''}" for name, sign, value in pairs)


def write_single(desk: Desk, asked: Asked) -> Answer:
    """One paper by itself: commissioning, going back; or the list of parts, which is told and not written."""
    from platekit.jobs.papers import commissioning, going_back
    from platekit.jobs.parts import parts

    job = {"parts": parts, "commissioning": commissioning, "going back": going_back}.get(asked.text("which"))
    if job is None:
        raise BadRequest("found a paper that there is none of")
    told = job(desk.path, desk.out)
    return {**answer_of(desk, desk.now()), "told": told.text, "written": [path.name for path in told.written]}


def see(desk: Desk, asked: Asked) -> Answer:
    """What the picture on the desk shows; nothing is written."""
    return seen(desk, asked)


def put_places(desk: Desk, asked: Asked) -> Answer:
    """The places off the picture and the diameters that were said, as one edit."""
    return answer_of(desk, places_put(desk, asked))


def write_outline(desk: Desk, asked: Asked) -> Answer:
    """The outline off the picture as a drawing; or the question whether another one may go."""
    told = outline_written(desk, asked)
    return {**answer_of(desk, desk.now()), "outline": told}


def body_of_outline(desk: Desk, asked: Asked) -> Answer:
    """The edits that make a body of the outline, to be shown first; nothing is written."""
    return {"edits": [[field, value] for field, value in outline_as_body(desk, asked)]}


def frame_page(desk: Desk, asked: Asked) -> Answer:
    """The page with the frame that a picture is taken with."""
    told = frame_written(desk, asked)
    return {**answer_of(desk, desk.now()), "told": told.text, "written": [path.name for path in told.written]}


def write_test_piece(desk: Desk, asked: Asked) -> Answer:
    """The test piece for the user's own cutting table."""
    return {**write_coupon(desk), **answer_of(desk, desk.now())}


def take_test_piece(desk: Desk, asked: Asked) -> Answer:
    """What was read on a test piece: the table's own figures, and the job cut by them."""
    told = take_coupon(desk, asked)
    return {**answer_of(desk, desk.now()), "told": told, "written": []}


def tell_moved(desk: Desk, asked: Asked) -> Answer:
    """What moved since the files in the folder were made, and which of them show another state; nothing is written."""
    from platekit.jobs.since_made import since_made

    return {**answer_of(desk, desk.now()), "told": since_made(desk.path, desk.out).text, "written": []}


Act = Callable[[Desk, Asked], Answer]
ACTS: Final[dict[str, Act]] = {
    "look": look,
    "advise": advise,
    "try advice": try_advice,
    "edit": edit,
    "set": set_values,
    "preview": preview,
    "take out": take_out,
    "blank": blank_form,
    "add": add,
    "fill in": fill_in,
    "save": save,
    "proofread": proofread,
    "undo": undo,
    "redo": redo,
    "accept": accept,
    "face": on_old_face,
    "drag": drag,
    "try": try_values,
    "odds": try_odds,
    "places": places,
    "how far": how_far,
    "drives": drives,
    "take drive": take_drive,
    "countershaft": put_countershaft,
    "look up": look_up,
    "make": write_files,
    "print": write_paper,
    "paper": write_single,
    "test piece": write_test_piece,
    "test piece read": take_test_piece,
    "moved": tell_moved,
    "see": see,
    "put places": put_places,
    "outline": write_outline,
    "outline body": body_of_outline,
    "frame": frame_page,
}
"""Every act by its name."""
