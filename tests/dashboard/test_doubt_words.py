"""Words of a batch's signs that its figures alone would say oddly. By hand."""

from dashboard.doubt_words import sign_words


def test_torques_that_are_all_the_same_vary_by_no_figure() -> None:
    # The root of what the mean of 57.1, thirty times, leaves in a float.
    batch = {"spread_frac": 3.1e-9, "spread_expected": 0.172}
    said = sign_words(batch, "spread").replace("\xa0", " ")
    assert said == (
        "torques inside the band are all the same, usually they vary by 17.2 % of it"
    )
    said = sign_words(batch | {"spread_frac": 0.004}, "spread").replace("\xa0", " ")
    assert said == "torques vary by 0.4 % of the band, usually by 17.2 %"
