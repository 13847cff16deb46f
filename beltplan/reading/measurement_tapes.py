"""What a tape and calipers read: distances and diameters."""

from __future__ import annotations

from collections.abc import Iterator

from beltplan.reading.measurement_accuracy import Accuracy
from beltplan.reading.measurement_forms import Form, entries_of, forms_of
from beltplan.reading.measurement_keys import GAP
from beltplan.reading.measurement_names import Names, Pair
from beltplan.reading.section import Section
from beltplan.studies.measured import Between, Distance, Size


def read_distances(top: Section, names: Names, accuracy: Accuracy) -> tuple[Distance, ...]:
    """The distances that could be read."""
    section = entries_of(top, "distances")
    return () if section is None else tuple(_distances(section, names, accuracy))


def _distances(section: Section, names: Names, accuracy: Accuracy) -> Iterator[Distance]:
    for key in section.table.entries:
        pair = names.pair(section, key)
        for form in forms_of(section, key, "PAIR"):
            found = _distance(form, pair, accuracy)
            if found is not None:
                yield found


def _distance(form: Form, pair: Pair | None, accuracy: Accuracy) -> Distance | None:
    between = _between(form)
    value = form.length(GAP if between == "gap" else None) if not _is_nothing(form, between) else None
    own = form.own_number("accuracy_mm")
    if value is None or pair is None or between is None:
        return None
    return Distance(*pair, value, accuracy.distance_mm if own is None else own, between, form.written, form.line)


def _is_nothing(form: Form, between: Between | None) -> bool:
    """Whether a distance is nought, which is noted: what is said of it helps more than its range."""
    if between == "gap" or form.written.strip() not in ("0", "0.0"):
        return False
    form.refuse("0", "a distance above 0 (two names for one place? then use one of them)")
    return True


def _between(form: Form) -> Between | None:
    """What the tape was laid along; None where it is said wrongly."""
    if form.own is None:
        return "centres"
    outside, gap = form.own.flag("outside"), form.own.flag("gap")
    if outside and gap:
        form.own.refuse("gap", "both outside and gap", "one of the two")
        return None
    return "outside" if outside else "gap" if gap else "centres"


def read_diameters(top: Section, names: Names, accuracy: Accuracy) -> tuple[Size, ...]:
    """The diameters over rims that could be read, of points and of pulleys that move."""
    section = entries_of(top, "diameters")
    if section is None:
        return ()
    found = []
    for name in section.table.entries:
        known = name in names.moving or names.known(section, name, name)
        for form in forms_of(section, name, "NAME"):
            value, own = form.length(), form.own_number("accuracy_mm")
            if known and value is not None:
                deviation = accuracy.diameter_mm if own is None else own
                found.append(Size(name, value, deviation, form.written, form.line))
    return tuple(found)
