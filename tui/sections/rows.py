"""The fields of a section as they stand: what each shows, what was understood, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from hearthcalc import lengths, quantities, reference
from hearthcalc.job import FIELDS, FieldSpec, Slip, get, join_address, parse_address, signing, slip_of_unit
from hearthcalc.models.heat import Material, materials
from hearthcalc_tui import commands
from hearthcalc_tui.entries import NONE, days_of, echo_of, meant, text_of, usual_of
from hearthcalc_tui.field import NOT_KNOWN, Beside, Note
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.limits import decided_by, limit_note
from hearthcalc_tui.sections.needed import applies, asked_for
from hearthcalc_tui.sections.table import ASKED_OF_A_PLAN, Section
from hearthcalc_tui.session import PATHS, WHOLE_LISTS, WORDS, Session, is_name
from hearthcalc_tui.widgets.editions import in_a_line

PICK = "@"
NAMES_A_FACE = ("nearby.face", "site.wind_on")
ALWAYS_SAYS = ("about.edition", "about.measured")
MATERIAL = "face.hearth.layers.material"
AMENDMENTS = "about.amendments"


def rows(session: Session, section: Section, stage: str) -> tuple[Row, ...]:
    """One row for each field of a section, after the one that picks a thing, where it has one."""
    kind = section.kind
    made: list[Row] = []
    if kind.picks:
        here = session.things(kind.picks, stage)
        if not here:
            return (_none_of(session, kind.picks),)
        made.append(
            Row(
                PICK + kind.picks,
                "",
                f"Which {WORDS[kind.picks]}",
                text=section.thing,
                choices=here,
                optional=False,
                understood=f"{here.index(section.thing) + 1} of {len(here)}. Left and Right choose another.",
                range="F7 adds one, F8 removes this one.",
            )
        )
    if kind.repeats:
        return _layers(session, section, stage)
    labels, stages = dict(kind.fields), session.assess().stages
    findings = (stages.get(stage) or stages["found"]).findings
    for key, address in needed(session, section, stage):
        row = _row(session, key, labels[key], address, _target(section, address, stage), stage)
        if row.note is None or row.note.kind == "found":
            limit = limit_note(
                decided_by(key, section.thing, findings), filled=bool(row.text or row.placeholder)
            )
            if limit and row.note:
                limit = replace(limit, text=f"{limit.text}; {row.note.text[:1].lower()}{row.note.text[1:]}")
            row = replace(row, note=limit or row.note)
        if kind.planned and not is_name(address) and key not in ASKED_OF_A_PLAN:
            row = replace(row, beside=_beside(session, address, row, stage))
        made.append(row)
    if kind.id == "signed":
        made.append(_standing(session, section.thing))
    return tuple(made)


def _standing(session: Session, name: str) -> Row:
    """Whether a person has signed, and whether that still holds."""
    job = session.now.job
    signed = next(one for one in job.signed if one.name == name)
    words = signing.standing(job, signed, session.edition().fingerprint)
    return Row(
        f"{PICK}standing", "", "How it stands", text=words, choices=(words,), optional=False, understood=words,
        range=f"{commands.keys_of(commands.BY_ID['sign'])} signs, with today's date. Any later change voids it.",
        full_label="How the sign-off stands", how=signing.ATTESTS,
    )  # fmt: skip


def needed(session: Session, section: Section, stage: str) -> list[tuple[str, str]]:
    """Key and address of each entry of a section that is needed and applies; also of one that says something or is waited for."""
    if section.kind.repeats:
        each = len(section.kind.fields)
        return [(section.kind.fields[at % each][0], address) for at, address in enumerate(section.addresses)]
    job, plan, mistakes = session.job(stage), stage == "planned", session.mistakes()
    stages = session.assess().stages
    missing = {measure.address for measure in (stages.get(stage) or stages["found"]).measure}
    kept = []
    for (key, _), address in zip(section.kind.fields, section.addresses, strict=False):
        target = _target(section, address, stage)
        if key in ASKED_OF_A_PLAN and not (plan and section.thing in session.things("face", "found")):
            continue
        no_place = key == AMENDMENTS and not session.places()
        if (
            (asked_for(job, key) and applies(job, key, section.thing, stage) and not no_place)
            or not missing.isdisjoint((address, target))
            or get(job, address) is not None
            or target in mistakes
            or session.being_typed(target)
        ):
            kept.append((key, address))
    return kept


def filled(session: Session, section: Section, stage: str) -> tuple[int, int, bool]:
    """How many of a section's entries say something, of how many, and whether one of them cannot be read."""
    job, mistakes = session.job(stage), session.mistakes()
    addresses = [address for _, address in needed(session, section, stage)]
    known = sum(get(job, address) is not None for address in addresses)
    return known, len(addresses), any(_target(section, a, stage) in mistakes for a in section.addresses)


def _target(section: Section, address: str, stage: str) -> str:
    """Where an entry of a section is written: over what was found, where the work changes it."""
    if stage == "found" or not section.kind.planned or is_name(address) or address.startswith("planned."):
        return address
    return f"planned.{address}"


def _layers(session: Session, section: Section, stage: str) -> tuple[Row, ...]:
    """Two rows for each layer, and one that tells of those for which there is no room."""
    known, each = materials(session.edition()), len(section.kind.fields)
    made: list[Row] = []
    for place, address in enumerate(section.shown):
        key, label = section.kind.fields[place % each]
        number = place // each + 1
        row = _row(session, key, label.format(number), address, _target(section, address, stage), stage)
        row = replace(row, full_label=f"Layer {number} from the top: {row.full_label.lower()}")
        adds = address in section.spare or (number == 1 and not row.text and not row.placeholder)
        made.append(
            _material(row, known, adds=adds) if key == MATERIAL else _thickness(session, row, section, stage)
        )
    hidden = (len(section.addresses) - len(section.shown)) // each
    if hidden > 0:
        layers = get(session.job(stage), section.whole) or ()
        rest = plain(text_of(layers[-hidden:]), 400)
        made.append(
            Row(
                PICK + section.kind.id, "", f"and {hidden} more", text=rest, choices=(rest,), optional=False,
                understood=rest, range="They are kept and counted; change them in the file.",
            )
        )  # fmt: skip
    return tuple(made)


def _material(row: Row, known: Mapping[str, Material], *, adds: bool) -> Row:
    """The row of a layer's material. adds: an answer adds the layer."""
    name = row.text or row.placeholder
    range_ = "F5 lists them by trade name. F7 inserts a layer, F8 removes it."
    if name not in known:
        note = (
            Note("mistake", "No material of the table is called so. Type letters of a name in it.")
            if name
            else row.note
        )
        empty = "A material here adds a layer." if adds else "Not known yet."
        return replace(row, note=row.note or note, understood=name or empty, range=range_)
    material = known[name]
    k = f", k {float(material.conductivity):g} W/(m.K)" if material.conductivity else ""
    return replace(row, understood=f"{'' if row.text else 'As found: '}{material.title}{k}", range=range_)


def _thickness(session: Session, row: Row, section: Section, stage: str) -> Row:
    """The row of a layer's thickness, with the R that comes of it, rounded down."""
    job, stages = session.now.job, session.assess().stages
    number = int(parse_address(row.address)[-2])
    insulate = (stages.get(stage) or stages["found"]).resistances.get(section.thing, ())
    value = insulate[number - 1] if number <= len(insulate) else None
    if value is None:
        return row
    unit = "h.ft2.F/Btu" if job.units == "in" else "m2.K/W"
    r = quantities.show_limit(value, "resistance", unit, op="<=")
    thickness = get(job, row.address) or get(job, row.address.removeprefix("planned."))
    echo = row.echo or lengths.show(thickness.value, job.units)
    return replace(
        row, echo=f"{echo} = R {r.removesuffix(f' {unit}')}", understood=f"{row.understood}, R {r}"
    )


def _none_of(session: Session, kind: str) -> Row:
    """Where a list is empty: a field that says so or, where it makes a difference, whether that is known."""
    address = join_address(PATHS[kind])
    spec = FIELDS[address]
    if kind not in WHOLE_LISTS:
        nothing = f"no {WORDS[kind]} yet"
        return Row(
            PICK + kind, "", f"Which {WORDS[kind]}", text=nothing, choices=(nothing,), optional=False,
            understood="F7 adds one.", full_label=spec.label, how=spec.how,
        )  # fmt: skip
    text = text_of(get(session.now.job, address))
    return Row(
        address, address, "Are there any", text=text, choices=(NONE,), full_label=spec.label, how=spec.how,
        understood="None, and that is known." if text else "Not known yet. F7 adds one; Right says there is none.",
    )  # fmt: skip


def _row(session: Session, key: str, label: str, address: str, target: str, stage: str) -> Row:
    spec = FIELDS[key]
    unit: lengths.Unit = session.now.job.units
    measure = spec.kind in ("length", "size")
    named = is_name(address)
    text = parse_address(address)[-2] if named and not session.being_typed(target) else session.entry(target)
    plan = session.now.stages.get("planned") if stage == "planned" else None
    voided, moved = (plan.voided, plan.moved) if plan else ({}, {})
    stays = target != address and address not in voided and not session.replaces(target)
    found = moved[address].text if address in moved else session.entry(address) if stays else ""
    taken = meant(spec, text, unit)
    echo = echo_of(spec, get(session.now.job, target), taken or text, unit)
    slip = None if taken else slip_of_unit(spec, text, unit)
    days = days_of(text.strip()) if spec.kind == "date" else []
    choices = _choices(session, spec, stage)
    return Row(
        target,
        key,
        label,
        text=text,
        unit=unit if measure else "",
        choices=choices,
        optional=key not in ALWAYS_SAYS,
        placeholder=found,
        echo=echo if measure else "",
        note=_taken(spec, text, taken, days, unit) or _note(session, target, text, slip),
        understood=in_a_line(session.edition())
        if key == "about.edition"
        else ""
        if choices
        else _understood(text, echo, found, voided=address in voided, moved=address in moved),
        range=_range(spec, text, unit),
        full_label=spec.label,
        how=spec.how,
        suggestion=slip.meant if slip else days[0] if days else f"{text} {unit}" if taken and measure else "",
    )


def _taken(spec: FieldSpec, text: str, taken: str, days: list[str], unit: lengths.Unit) -> Note | None:
    """What a bare entry is taken as, or which of two days it may be."""
    if len(days) > 1:
        return Note("question", f"{days[0]}, month first, or {days[1]}, day first? F5 takes the first.")
    if taken and spec.kind == "length":
        return Note("question", f"Taken as {taken}. F5 keeps {text} {unit}.")
    return Note("found", f"Taken as {taken}.") if taken else None


def _note(session: Session, target: str, text: str, slip: Slip | None) -> Note | None:
    """What is wrong with an entry, else what there is to ask about it."""
    mistakes, unusual = session.mistakes(), session.now.unusual
    if is_name(target):
        mistake = session.name_mistake(target, text) if session.being_typed(target) else ""
        return Note("mistake", mistake) if mistake else None
    problem = session.problem(target)
    if problem is not None:
        return Note("mistake", f"{problem.what} {problem.fix}")
    if target in mistakes:
        return Note("mistake", mistakes[target])
    if target == AMENDMENTS and text and not session.edition().amended_for:
        return Note("mistake", f"None of {session.edition().id} are kept here: the values are as published.")
    if slip:
        return Note("question", f"{slip.question} F5 takes it.")
    return Note("question", unusual[target]) if target in unusual else None


def _beside(session: Session, address: str, row: Row, stage: str) -> Beside | None:
    """What the other stage says of an entry; None where nothing is planned and the plan is not in hand."""
    plan = session.now.stages.get("planned")
    if stage == "planned":
        there = session.entry(address)
        return Beside(there, planned=False, differs=bool(there) and _other(session, address))
    if plan is None:
        return None
    if session.replaces(f"planned.{address}") or session.entry(f"planned.{address}"):
        made = session.entry(f"planned.{address}")
        return Beside(made or NOT_KNOWN, planned=True, differs=bool(row.text) and _other(session, address))
    if address in plan.voided:
        return Beside("to give", planned=True)
    if address in plan.moved:
        return Beside(plan.moved[address].text, planned=True, differs=bool(row.text))
    return Beside("as found" if row.text else "", planned=True)


def _other(session: Session, address: str) -> bool:
    """Does the plan say something else than what was found."""
    planned, there = (get(session.now.job, at) for at in (f"planned.{address}", address))
    if planned is None:
        return bool(session.entry(f"planned.{address}"))
    return bool(getattr(planned, "value", planned) != getattr(there, "value", there))


def _understood(text: str, echo: str, found: str, *, voided: bool, moved: bool) -> str:
    if text:
        return f"{text} {GLYPHS.arrow} {echo}" if echo and echo != text else text
    if found:
        return f"The plan makes it {found}" if moved else f"As found: {found}"
    return (
        "The plan changes what this was measured from: enter what it will be." if voided else "Not known yet."
    )


def _range(spec: FieldSpec, text: str, unit: lengths.Unit) -> str:
    """What a choice means, or what is usual for a measure."""
    if spec.kind == "date":
        return "Type today, or a day as in 2026-05-04."
    if spec.key == "about.edition":
        return "Left and Right choose another; F1 tells of each."
    if spec.key == AMENDMENTS:
        return "Left and Right choose; nothing: only what holds for every job."
    return f"{text}: {spec.words[text]}" if text in spec.words else usual_of(spec, unit)


def _choices(session: Session, spec: FieldSpec, stage: str) -> tuple[str, ...]:
    if spec.kind == "bool":
        return ("yes", "no")
    if spec.key == MATERIAL:
        return tuple(materials(session.edition()))
    if spec.key in NAMES_A_FACE:
        return session.things("face", stage)
    if spec.key == "about.edition":
        return tuple(reference.edition_ids())
    if spec.key == AMENDMENTS:
        return session.places()
    return spec.choices if spec.kind == "choice" else ()
