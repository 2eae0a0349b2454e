-- What a short embedment and a near edge leave of the concrete cone, to order follow-up
-- and for nothing else: no capacity is computed. Grain: one row per installation that
-- was not abandoned; ratios are fractions, NULL where the log does not give them.
-- cone_ratio is both together, as judged. Reads: installation, setting_data.
create or replace view indicative_ratio as
select
    logged.site_code,
    logged.record_id,
    logged.source_file_id,
    logged.source_row,
    embedment_ratio(
        effective_embedment_mm(
            logged.embedment_mm,
            logged.anchor_length_mm,
            logged.fixture_thickness_mm,
            logged.packing_mm,
            logged.projection_mm,
            required.nominal_embedment_mm - required.embedment_mm
        ),
        required.embedment_mm
    ) as embedment_ratio,
    edge_ratio(
        least(logged.edge_1_mm, logged.edge_2_mm), required.embedment_mm
    ) as edge_ratio,
    logged.cone_ratio
from installation as logged
inner join setting_data as required
    on logged.setting_code = required.setting_code
where logged.outcome is distinct from 'abandoned';
