"""An anchor cut through, drawn in signs: to scale, logged beside required."""

from dashboard import words
from dashboard.anchor_section import Section

# So that a line with its name and figure stays within 80 signs.
WIDTH = 44
STEPS_MM = (1, 2, 5, 10, 20)
CLEAR = float("inf")


def drawn_section(section: Section) -> list[str]:
    """Return the lines of the drawing, for a fixed-width face.

    "|" is the concrete's surface: fixture, packing and bolt end stand to its left, the
    hole to its right. Edge distances run along the surface, at the same scale.
    """
    step_mm = _step_mm(section)
    left = round(section.head_mm / step_mm)
    room = WIDTH - left

    def line(name: str, mm: float | None, sign: str, above_mm: float = 0) -> str:
        signs = room + 1 if mm == CLEAR else round((mm or 0) / step_mm)
        inside = sign * min(signs, room) + (">" if signs > room else "")
        above = sign * round(above_mm / step_mm)
        return f"{name:>20}  {above:>{left}}|{inside}"

    def with_figure(
        name: str, mm: float | None, sign: str, beside: float | None
    ) -> str:
        return f"{line(name, mm, sign)}  {_length(mm, beside)}"

    def pair(name: str, logged: float | None, required: float) -> list[str]:
        return [
            with_figure(name, logged, "o", required),
            with_figure("required", required, "-", logged),
        ]

    is_known = section.fixture_mm is not None and section.packing_mm is not None
    clamped = _length(section.clamped_mm) + ("" if is_known else ", not all logged")
    assumed = ", drawn as specified" if section.is_assumed else ""
    return [
        f"Cut through, {_length(step_mm)} a sign; | is the concrete's surface:",
        f"{line('fixture, packing', 0, '=', section.clamped_mm)}  {clamped}",
        line("anchor", section.tip_mm, "#", section.head_mm) + assumed,
        *pair("hole", section.hole_mm, section.required_hole_mm),
        *pair("embedment", section.embedment_mm, section.required_embedment_mm),
        *pair("nearest edge", section.edge_mm, section.required_edge_mm),
    ]


def _step_mm(section: Section) -> int:
    """Return the smallest step at which what is not an edge fits the width."""
    span_mm = section.head_mm + section.depth_mm
    return next((step for step in STEPS_MM if span_mm <= step * WIDTH), STEPS_MM[-1])


def _length(mm: float | None, beside: float | None = None) -> str:
    """Return a length in the reader's unit, with a plain space for a terminal."""
    if mm is None:
        return "not logged"
    return words.quantity(mm, "mm", beside=(beside,)).replace(words.SPACE, " ")
