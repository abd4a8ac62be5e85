"""Words: the templates that hold them, and how moments and temperatures are written.

Every word on paper, page and terminal that a grower may want to change stands in `templates/`.
A folder of the grower's own overrides single files of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from types import CodeType
from typing import Any, ClassVar

from jinja2 import (
    BaseLoader,
    BytecodeCache,
    ChoiceLoader,
    Environment,
    FileSystemLoader,
    StrictUndefined,
    Template,
    TemplateError,
    TemplateNotFound,
    TemplateSyntaxError,
    UndefinedError,
)
from jinja2.bccache import Bucket

from tagmaker.errors import InputProblems, Problem
from tagmaker.notes import Note

# What a grower's own template may fail with, its encoding and its sums included.
FAULTS = (TemplateError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError, RecursionError)
WEEKDAYS = ("MON", "TUE", "WED", "THU", "FRI", "SAT", "SUN")
MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")


def packaged_templates() -> Path:
    """The folder of the shipped templates: inside an installed package, beside it in a checkout.

    Raises:
        FileNotFoundError: neither place has them, so the installation is broken.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "templates", package.parent / "templates"):
        if (folder / "sentences.j2").is_file():
            return folder
    raise FileNotFoundError(f"the templates must be in {package / 'templates'}: install tagmaker again")


class _Compiled(BytecodeCache):
    """Templates as this process has compiled them, for the next `Wording` that takes the same text.

    Units count, because what is written of a number in a template itself is worked out when it is compiled.
    """

    _codes: ClassVar[dict[tuple[str | None, str, str], CodeType]] = {}

    def __init__(self, units: str | None) -> None:
        self._units = units

    def load_bytecode(self, bucket: Bucket) -> None:
        """Take it, if the file of that name had the same text before."""
        bucket.code = self._codes.get((self._units, bucket.key, bucket.checksum))

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep it."""
        if bucket.code is not None:
            self._codes[self._units, bucket.key, bucket.checksum] = bucket.code


class Wording:
    """The words of a farm: its templates, in its units."""

    def __init__(self, units: str | None, folder: Path | None = None) -> None:
        """Take `units` "F" or "C" (None: both are written) and a folder of overriding templates."""
        self.units = units
        self._folder = folder
        self._macros: dict[str, Any] = {}

    def day(self, day: date) -> str:
        """A day as printed: 'SAT 6 MAR'."""
        return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"

    def hour(self, moment: datetime) -> str:
        """An hour as printed: '6 PM' or '6:15 PM' in °F farms, '18:00' in °C farms.

        12 AM and 12 PM are read both ways, so noon is written out and midnight belongs to its day.
        """
        if self.units != "F":
            return f"{moment:%H:%M}"
        if moment.minute == 0 and moment.hour in (0, 12):
            return "NOON" if moment.hour else "12:01 AM"
        minutes = f":{moment.minute:02}" if moment.minute else ""
        return f"{moment.hour % 12 or 12}{minutes} {'AM' if moment.hour < 12 else 'PM'}"

    def moment(self, moment: datetime) -> str:
        """A moment as printed: 'FRI 5 MAR 6 PM' or 'FRI 5 MAR 18:00'."""
        return f"{self.day(moment)} {self.hour(moment)}"

    def short_day(self, day: date) -> str:
        """A day in running small print: '15 Feb'."""
        return f"{day.day} {MONTHS[day.month - 1].capitalize()}"

    def temp(self, t_c: float) -> str:
        """A temperature [°C] in the farm's unit: '41 °F', '−5 °C'; both where none is set."""
        numbers = f"{round(t_c * 1.8 + 32)} °F", f"{round(t_c, 1) + 0.0:g} °C"
        fahrenheit, celsius = (number.replace("-", "−") for number in numbers)
        if self.units is None:
            return f"{fahrenheit} ({celsius})"
        return fahrenheit if self.units == "F" else celsius

    @cached_property
    def _environment(self) -> Environment:
        """The grower's own templates, and the shipped ones where there is none of a name."""
        own = [FileSystemLoader(self._folder)] if self._folder is not None else []
        return self._reading(ChoiceLoader([*own, self._shipped.loader or BaseLoader()]))

    @cached_property
    def _shipped(self) -> Environment:
        return self._reading(FileSystemLoader(packaged_templates()))

    def _reading(self, loader: BaseLoader) -> Environment:
        environment = Environment(
            loader=loader,
            undefined=StrictUndefined,
            autoescape=lambda name: name is not None and name.removesuffix(".j2").endswith(".html"),
            trim_blocks=True,
            lstrip_blocks=True,
            bytecode_cache=_Compiled(self.units),
        )
        for name in ("day", "hour", "moment", "short_day", "temp"):
            environment.filters[name] = getattr(self, name)
        environment.globals["units"] = self.units
        return environment

    def say(self, note: Note) -> str:
        """The sentence of a note, from templates/sentences.j2."""
        return str(getattr(self.macros("sentences.j2"), note.macro())(**note.values))

    def macros(self, name: str) -> Any:
        """The macros of a template; called with keyword values, each gives one trimmed text.

        A template of the grower's own may be of an earlier version: where a macro lacks, or asks for a
        value that is no longer told, the shipped one is said; values it does not ask for are left out.

        Raises:
            InputProblems: the template, perhaps the grower's own, is missing or faulty.
        """
        if name not in self._macros:
            try:
                templates = [self._environment.get_template(name)]
                if self._folder is not None and (self._folder / name).is_file():
                    templates.append(self._shipped.get_template(name))
                self._macros[name] = _Macros(name, templates, self)
            except FAULTS as error:
                raise self._problem(name, error) from error
        return self._macros[name]

    def render(self, name: str, **values: object) -> str:
        """A whole template with its values filled in.

        One of the grower's own that asks for what is no longer told is of an earlier version: the shipped
        one is taken in its place.
        """
        try:
            return self._environment.get_template(name).render(**values)
        except UndefinedError as error:
            if self._folder is None or not (self._folder / name).is_file():
                raise self._problem(name, error) from error
            return self._shipped.get_template(name).render(**values)
        except FAULTS as error:
            raise self._problem(name, error) from error

    def _problem(self, name: str, error: Exception) -> InputProblems:
        """What is wrong with a template, and where."""
        where = f"template {name}"
        if isinstance(error, TemplateSyntaxError):
            where = f"template {error.name or name}, line {error.lineno}"
        if isinstance(error, TemplateNotFound):
            what, remedy = (
                "must be there (not found)",
                "Name a template that exists, or install tagmaker again.",
            )
        elif isinstance(error, UndefinedError):
            what = f"must use only the values it is given ({error.message})"
            remedy = "Compare it with the shipped template of the same name."
        else:
            said = error.message if isinstance(error, TemplateError) else f"{type(error).__name__}: {error}"
            what = f"must be a well-formed template ({said})"
            remedy = "Correct that line, or remove the file to use the shipped one."
        return InputProblems([Problem(where, what, remedy)])


class _Macros:
    """The macros of one template, each result trimmed and in one paragraph."""

    def __init__(self, name: str, templates: Sequence[Template], wording: Wording) -> None:
        """Take the template, and behind one of the grower's own the shipped one."""
        self._name = name
        self._modules = [template.module for template in templates]
        self._wording = wording

    def __getattr__(self, macro: str) -> Any:
        found = (getattr(module, macro, None) for module in self._modules)
        functions = [function for function in found if callable(function)]
        if not functions:
            error = UndefinedError(f"the macro {macro} is missing")
            raise self._wording._problem(self._name, error)
        own = functions[0] if len(self._modules) > 1 else None

        def call(**values: object) -> str:
            function = functions[0]
            try:
                if own is not None and function is own:
                    return _said(function, {key: values[key] for key in function.arguments if key in values})
                return _said(function, values)
            except UndefinedError as error:
                if function is own and "was not provided" in str(error) and len(functions) > 1:
                    return _said(functions[1], values)  # it asks for what is no longer told
                raise self._wording._problem(self._name, error) from error
            except TypeError as error:
                wrong = UndefinedError(f"macro {macro}: {error}")
                raise self._wording._problem(self._name, wrong) from error
            except FAULTS as error:
                raise self._wording._problem(self._name, error) from error

        return call


def _said(macro: Any, values: Mapping[str, object]) -> str:
    """What a macro says, in one paragraph."""
    return " ".join(str(macro(**values)).split())
