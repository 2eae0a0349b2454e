-- Master data, one table a sheet (declared in etl/sheets/). Codes are those of logs.

-- When a torque wrench was calibrated, until when that holds, and over which torques.
-- as_found: 'in' or 'out' of tolerance before it was adjusted, which speaks of the time
-- before calibrated_on; NULL where the certificate does not tell.
create table wrench_calibration (
    wrench_code varchar not null,
    calibrated_on date not null,
    valid_to_on date not null,
    valid_cycles integer not null,
    range_low_nm double not null,
    range_high_nm double not null,
    certificate varchar,
    as_found varchar,
    source_file_id integer not null,
    source_row bigint not null
);

-- A crew; its name is a team's, not a person's. No site: it works on several.
create table crew (
    crew_code varchar not null,
    crew_name varchar not null,
    site_code varchar,
    employer varchar,
    source_file_id integer not null,
    source_row bigint not null
);

-- Who was taught what, when, and when firmset was told. The topic is a check's name,
-- or whatever else was taught.
create table training (
    crew_code varchar not null,
    topic varchar not null,
    trained_on date not null,
    registered_at timestamptz not null,
    trainer_code varchar,
    note varchar,
    source_file_id integer not null,
    source_row bigint not null
);

-- Holes still to be drilled. No crew, method or orientation: not yet known.
create table planned_hole (
    site_code varchar not null,
    crew_code varchar,
    setting_code varchar not null,
    planned_from_on date not null,
    planned_to_on date not null,
    hole_count integer not null,
    drill_method varchar,
    orientation varchar,
    source_file_id integer not null,
    source_row bigint not null
);

create table inspector (
    inspector_code varchar not null,
    site_code varchar,
    employer varchar,
    source_file_id integer not null,
    source_row bigint not null
);

create table bit (
    bit_code varchar not null,
    nominal_diameter_mm double not null,
    first_used_on date,
    retired_on date,
    source_file_id integer not null,
    source_row bigint not null
);
