"""The twin's checks in which the anchor's length, measured or by its letter, counts."""

from tests.queries.checks.twin_values import Judged, Row, known, lengths, lost


def anchor_length(row: Row, need: Row) -> Judged:
    specified = need["anchor_length_mm"]
    length = known(row["anchor_length_mm"])
    if length is not None:
        off = length - specified
        margin = 1 - abs(off)
        if margin >= 0:
            return "conforming", margin, None
        return "nonconforming", margin, "short" if off < 0 else "long"
    if row["length_mark"] is not None and row["length_mark"] == need["length_mark"]:
        return "conforming", None, None
    found = lengths(row, need)
    if found and found[1] <= specified - 1:
        return "nonconforming", None, "short"
    if found and found[0] > specified + 1:
        return "nonconforming", None, "long"
    return lost(row, "anchor_length_mm"), None, None


def fixture_thickness(row: Row, need: Row) -> Judged:
    fixture, packing = known(row["fixture_thickness_mm"]), known(row["packing_mm"])
    total = None if fixture is None or packing is None else fixture + packing
    least = (fixture or 0) + (packing or 0)
    blank = (
        lost(row, "fixture_thickness_mm", "packing_mm", "anchor_length_mm"),
        None,
        None,
    )
    found = lengths(row, need)
    length = known(row["anchor_length_mm"])
    as_specified = (
        abs(length - need["anchor_length_mm"]) <= 1
        if length is not None
        else row["length_mark"] is not None
        and row["length_mark"] == need["length_mark"]
    )
    if as_specified:
        low = high = need["max_fixture_mm"]
        is_open = False
    elif found is None:
        return blank
    else:
        low = need["max_fixture_mm"] + found[0] - need["anchor_length_mm"]
        high = need["max_fixture_mm"] + found[1] - need["anchor_length_mm"]
        is_open = found[2]
    margin = low - total if low == high and total is not None else None
    if total is not None and total <= low:
        return "conforming", margin, None
    if least > high or (is_open and least == high):
        return "nonconforming", margin, "thick"
    return blank


def embedment(row: Row, need: Row) -> Judged:
    measured = known(row["embedment_mm"])
    wanted = need["embedment_mm"]
    names = ("anchor_length_mm", "fixture_thickness_mm", "packing_mm", "projection_mm")
    blank = lost(row, "embedment_mm", *names), None, None
    if measured is not None:
        margin = measured - wanted
        if margin < 0:
            return "nonconforming", margin, "shallow"
        return "conforming", margin, None
    fixture, packing = known(row["fixture_thickness_mm"]), known(row["packing_mm"])
    projection, found = known(row["projection_mm"]), lengths(row, need)
    if found is None or fixture is None or projection is None:
        return blank
    # Effective embedment ends h_nom - h_ef above the tip.
    tip = need["nominal_embedment_mm"] - wanted
    deepest = found[1] - fixture - (packing or 0) - projection - tip
    if packing is not None:
        shallowest = found[0] - fixture - packing - projection - tip
        margin = deepest - wanted if found[0] == found[1] else None
        if shallowest >= wanted:
            return "conforming", margin, None
    else:
        margin = None
    if deepest < wanted or (found[2] and deepest == wanted):
        return "nonconforming", margin, "shallow"
    return blank
