"""The usual cautions of storing and using rainwater. Local codes and licensed trades come before all of them."""

from dataclasses import dataclass

from waterbudget.tables.read import find, read_rows


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution, with its figure as text (empty where there is none) and where it was found."""

    topic: str
    subject: str
    caution: str
    figure: str
    source: str
    page: str


def cautions(*topics: str) -> list[Caution]:
    """Cautions of the topics, in the order asked and then of the table; every caution without a topic.

    Raises UnknownKeyError, naming the nearest, for a topic that the table lacks.
    """
    known = list(dict.fromkeys(row["topic"] for row in read_rows("cautions")))
    asked = dict.fromkeys(find(topic, known, "topic") for topic in topics) or known
    return [Caution(**row) for topic in asked for row in read_rows("cautions") if row["topic"] == topic]
