-- Nonconforming anchors of a selection by indicative cone ratio, to order follow-up.
-- Grain: one row per site. Each anchor counts once, however many checks it fails:
-- below 0.70, below 0.85, below 1, nothing lost, ratio not known; they add up to
-- nonconforming. wanted_mask: only anchors nonconforming in one of these checks.
-- A NULL filter means all. Reads: installation, setting_data.
create or replace macro nonconforming_by_ratio(
    wanted_mask, from_on, to_on, site_codes, crew_codes, anchor_sizes
) as table
    select
        site_code as site,
        count(*) as nonconforming,
        count_if(cone_ratio < 0.7)::bigint as below_070,
        count_if(cone_ratio >= 0.7 and cone_ratio < 0.85)::bigint as below_085,
        count_if(cone_ratio >= 0.85 and cone_ratio < 1)::bigint as below_1,
        count_if(cone_ratio >= 1)::bigint as nothing_lost,
        count_if(cone_ratio is null)::bigint as not_known,
        min(cone_ratio) as lowest
    from installation
    where
        (nonconforming_mask & wanted_mask::uinteger) != 0
        and (from_on is null or installed_on >= from_on::date)
        and (to_on is null or installed_on <= to_on::date)
        and (site_codes is null or list_contains(site_codes, site_code))
        and (crew_codes is null or list_contains(crew_codes, crew_code))
        and (
            anchor_sizes is null
            or setting_code in (
                select required.setting_code
                from setting_data as required
                where list_contains(anchor_sizes, required.anchor_size)
            )
        )
    group by site_code;
