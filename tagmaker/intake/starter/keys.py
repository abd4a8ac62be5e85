"""What the starter's workbook says about each key of its sheets Farm, Uses and Coolers."""

from __future__ import annotations

from collections.abc import Mapping

from tagmaker.farm import CARD_NAMES

YES_NO = ("yes", "no")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

# Key of the sheet Farm -> what it means. "usual" keys say what a blank cell of the lots means here.
FARM: Mapping[str, str] = {
    "farm": "Name of the farm, printed on the papers.",
    "units": "F or C: for temperatures without a unit, and on paper.",
    "paper_size": "letter or a4.",
    "label_stock": "The labels in the printer: tagmaker label-stocks draws them. Blank: letter-3x10.",
    "workday": "First and last hour at the bench, in quarter hours: 08:00 to 18:00.",
    "days_off": "Days on which nobody puts stems in water: Sun. They can still sell. Blank: none.",
    "day_first": "How 05/06/2027 reads: yes is 5 June, no is May 6. Blank: such dates are refused.",
    "timezone": "Only if the computer stands in another one: Europe/Dublin.",
    "basis": "practice, early or cautious: how careful the dates are. Blank: practice.",
    "link": "What the codes on the tags open: https://example.org/l/{lot}. tagmaker serve says its own.",
    "crate_card": f"{', '.join(CARD_NAMES[:-1])} or {CARD_NAMES[-1]}. Blank: quarter.",
    "field_temperature": "Between cut and cooler: 60F, or twelve from January on: 40F; 42F; … Blank: 59F.",
    "room_temperature": "Where stems are let open: 68F. Blank: 68F.",
    "half_cooling": "Hours in which a wrapped crate comes half way to the cooler. Blank: 4.",
    "usual stage": "What a blank stage means here: green, tight, half, coloured or open. Blank: not noted.",
    "usual form": "What a blank form means here: single.",
    "usual per bunch": "Stems in a bunch where the cell is blank. Blank: 10.",
    "usual use": "What lots are for where the cell is blank: a use of the sheet Uses.",
}
FARM_CHOICES: Mapping[str, tuple[str, ...]] = {
    "units": ("F", "C"),
    "paper_size": ("letter", "a4"),
    "day_first": YES_NO,
    "basis": ("practice", "early", "cautious"),
    "crate_card": CARD_NAMES,
    "usual stage": ("green", "tight", "half", "coloured", "open"),
}

USES: Mapping[str, str] = {
    "use": "Where flowers go: a name of your own. A row for each.",
    "vase_days": "The days in the vase that you promise the buyer. Needed.",
    "days": "When it sells: Sat, or Mon-Fri, or dates like 2027-05-08, or both. Blank: every day.",
    "leaves": "The hour at which its flowers leave the farm: 06:30. Blank: the start of the workday.",
    "open": "yes: wanted open on arrival, and time to open is planned in. Blank: no.",
    "stems": "What it usually sells a selling day. Blank: not said.",
    "must": "yes: its orders are filled first. Blank: no.",
    "note": "Anything.",
}
COOLERS: Mapping[str, str] = {
    "cooler": "A name of your own. The first row is meant where a lot does not say.",
    "set_point": "What it is set to: 39F. It is no measurement: dates count with 41F or warmer, unless the "
    "cooler is logged or trusted.",
    "trusted": "yes: the set point was checked against a good thermometer. Blank: no.",
    "log": "Its thermometer log: logs/walk-in*.csv. Blank: the files in logs that begin with its name.",
    "probe": "Which probe of a log that holds several: shelf 2.",
    "log_units": "F or C, if the log does not say.",
    "offset": "Added to every reading, from a check in ice water: -0.5F.",
    "crates": "How many crates it takes. Blank: no limit is watched.",
    "buckets": "How many buckets it takes. Blank: no limit is watched.",
    "shared": "no: crates and buckets do not take each other's space. Blank: yes.",
    "soak": "outside: stems put in water stand elsewhere. Blank: inside.",
    "note": "Anything.",
}
ROW_CHOICES: Mapping[str, tuple[str, ...]] = {
    "days": ("every day", "Mon-Fri", *WEEKDAYS),
    "open": YES_NO,
    "must": YES_NO,
    "trusted": YES_NO,
    "log_units": ("F", "C"),
    "shared": YES_NO,
    "soak": ("inside", "outside"),
}
