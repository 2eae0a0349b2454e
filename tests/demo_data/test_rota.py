"""How a site's work is shared between settings, from what the site says of itself."""

import polars as pl
import pytest

from demo_data.rota import _setting_shares
from demo_data.setting import read_setting_data
from demo_data.sites import SITES, Site


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.code)
def test_setting_shares_keep_the_site_s_sizes_and_depths(site: Site) -> None:
    setting_data = read_setting_data()
    shares = setting_data.with_columns(
        share=pl.Series(_setting_shares(site, setting_data)),
        is_deep=pl.col("embedment_mm")
        == pl.col("embedment_mm").max().over("anchor_size", "material"),
    )
    weights = dict(site.size_weights)
    whole = sum(weights.values())
    sizes = shares.filter(pl.col("share") > 0).partition_by("anchor_size")
    assert len(sizes) == len(weights)
    for size in sizes:
        weight = weights[size["anchor_size"][0]]
        assert size["share"].sum() == pytest.approx(weight / whole)
        if size["embedment_mm"].n_unique() == 2:
            deep = size.filter("is_deep")["share"].sum()
            assert deep / size["share"].sum() == pytest.approx(site.deep_share)
