"""The language that says what a job file may hold: groups, fields and rules, read from `job.toml`.

DEVELOPERS.md explains each key; the schema itself is data.
"""

from __future__ import annotations

import msgspec

Scalar = str | int | float | bool
PerEdition = dict[str, Scalar]
Conditions = dict[str, list[Scalar]]


class Declared(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """Base of all declarations: an unknown key is an error."""


class Measure(Declared):
    """What a value must be and how large it may get. A limit may be given for each edition apart."""

    unit: str = "text"
    minimum: Scalar | PerEdition | None = None
    maximum: Scalar | PerEdition | None = None
    above: Scalar | PerEdition | None = None  # larger than this
    below: Scalar | PerEdition | None = None  # smaller than this
    nonzero: bool = False
    whole: bool = False  # a number without decimals


class Field(Measure, kw_only=True):
    """One key of a table."""

    name: str
    about: str
    required: bool = False
    default: Scalar | PerEdition | None = None
    digits: bool = False  # a whole number is taken as text: 40 is "40"
    longest: int = 120
    refuse: str = ""  # characters that the text may not have
    choices: list[str] | str = []  # texts, or "table.column"
    ignore: list[str] = []  # words before or after a choice that change nothing: "No. 7" is "7"
    instead: dict[str, str] = {}  # word of the trade that is no choice -> half sentence: how a job says it
    choices_for: dict[str, str] = {}  # other column of that table -> path whose value stands in the same row
    choices_when: Conditions = {}  # `choices_for` holds only then
    inherits: list[str] = []  # paths that give the value when the key is absent, first one that has it
    earlier: bool = False  # names an earlier row of the same list by its key
    earlier_by: dict[str, str] = {}  # or a row of this sibling list, whose key named here names an earlier row
    names: str = ""  # names a row of this sibling list by its key, wherever that row stands in the file
    of: str = ""  # with `names`: the list is one within the row that this other key names
    words: list[str] = []  # words that may stand instead of such a name
    first: str = ""  # with `earlier`: the word for the first row; other rows continue the one before
    or_by: Measure | None = None  # may also be "by QUANTITY" of this measure
    required_when: Conditions = {}
    only_when: Conditions = {}


class Rule(Declared):
    """A condition over several keys. Each rule has one of: a count, `rising`, `same`, `shared`, `table`.

    It is tried when every `when` matches and no `unless` does, every value of `when_given` is there and none of
    `unless_given`, and the two of `unless_same` differ. `say` is the half sentence for the error; {path} in it is
    replaced by that value.
    """

    at: str = ""  # key to name as the place
    say: str = ""
    allowed: str = ""
    when: Conditions = {}
    unless: Conditions = {}
    when_given: list[str] = []
    unless_given: list[str] = []
    unless_same: list[str] = []

    given: list[str] = []  # count: these keys are in the file
    nonzero: list[str] = []  # count: these quantities are not zero
    by: list[str] = []  # count: these are given by another quantity
    at_least: int = 0
    at_most: int | None = None

    rising: list[str] = []  # none of these is smaller than the one before, absent ones left out
    same: list[str] = []  # two paths with one value
    shared: str = ""  # at most `at_most` rows of one list have the same value here

    table: str = ""  # a row of this reference table has in `columns` the values of one of `rows`
    columns: list[str] = []
    rows: list[list[str]] = []
    filled: str = ""  # and a value in this column


class Group(Declared):
    """One table of the job file, or a list of them."""

    path: str
    label: str
    about: str
    field: list[Field]
    rule: list[Rule] = []
    required: bool = False
    many: bool = False
    at_least: int = 0
    limit: int = 0  # in the whole file
    limit_each: int = 0  # in one parent
    key: str = ""
    key_default: str = ""  # "L{n}"
    unique_within: str = ""  # path of an ancestor; absent is the list itself
    word_is: str = ""  # a word in place of the list is this key of the table that the list stands in


class SchemaFile(Declared):
    """The whole file."""

    schema: int
    job_schema: int
    units: str  # path of the key that says the edition
    group: list[Group]
