-- The ledger's tables. Times named _at are UTC instants, dates named _on are the
-- site's own calendar. Distances are mm, torque is Nm (_nm = newton metre), time s.
-- No primary key on installation: it costs 1.4 times the load's time; the load keeps
-- (site_code, record_id) unique and an SQL check of the load proves it.

create type verdict as enum(
    'conforming', 'nonconforming', 'unrecorded', 'unreadable', 'inapplicable'
);

create table schema_version (version integer not null);

create table edition (
    edition_id integer not null,
    published_at timestamptz not null,
    reason varchar not null
);

create table site (
    site_code varchar not null,
    site_name varchar not null,
    time_zone varchar not null
);

-- One row per file that was loaded: its receipt. Rows read must equal loaded +
-- revised + duplicate + rejected; the table itself refuses a receipt that does not.
create table source_file (
    source_file_id integer not null,
    content varchar not null,
    site_code varchar,
    file_name varchar not null,
    sha256 varchar not null,
    byte_count bigint not null,
    site_map_sha256 varchar,
    loaded_at timestamptz not null,
    rows_read bigint not null,
    loaded bigint not null,
    revised bigint not null,
    duplicate bigint not null,
    rejected bigint not null,
    field_faults bigint not null,
    headers varchar[] not null,
    remarks varchar[] not null,
    unloaded_at timestamptz,
    check (rows_read = loaded + revised + duplicate + rejected)
);

-- The site maps that files were read with, as they were then.
create table site_map (
    sha256 varchar not null,
    file_name varchar not null,
    text varchar not null
);

-- Every change of the ledger, a row a transaction. An edition that lacks the last one
-- is behind.
create table ledger_change (
    change_id integer not null,
    changed_at timestamptz not null,
    what varchar not null
);

-- A row of a file that could not be taken: where it stood, what it said, why.
-- record_id where one could be read. cleared_by is the later file that brought the
-- record after all, or the row again, to be rejected there; the row stays. It is the
-- file itself where the row is no installation (column names again, a total).
create table rejected_row (
    source_file_id integer not null,
    source_row bigint not null,
    reason_code varchar not null,
    reason varchar not null,
    raw_text varchar not null,
    record_id varchar,
    cleared_by integer,
    -- That the row gives, 0 where none; null where it cannot be read.
    revision integer
);

-- Each way a file spelled a code, in capitals. Spellings with one code_key are one
-- code (etl/codes.py), stored everywhere by the spelling that etl/codes.py prefers.
create table code_spelling (
    column_name varchar not null,
    code_key varchar not null,
    spelling varchar not null,
    source_file_id integer not null
);

-- A row that was taken although one of its values could not be read.
create table field_fault (
    source_file_id integer not null,
    source_row bigint not null,
    column_name varchar not null,
    raw_value varchar not null,
    reason varchar not null
);

-- Published parameters of one anchor type, size, length and effective embedment.
create table setting_data (
    setting_code varchar not null,
    anchor_type_code varchar not null,
    material varchar,
    anchor_size varchar not null,
    diameter_mm double not null,
    drill_diameter_mm double not null,
    bit_min_mm double,
    bit_max_mm double,
    embedment_mm double not null,
    nominal_embedment_mm double not null,
    hole_depth_mm double not null,
    anchor_length_mm double not null,
    length_mark varchar,
    max_fixture_mm double not null,
    setting_torque_nm double not null,
    torque_low_nm double,
    torque_high_nm double,
    min_edge_mm double not null,
    at_spacing_mm double,
    min_spacing_mm double not null,
    at_edge_mm double,
    edge_spacing_interpolates boolean not null,
    min_member_mm double,
    min_concrete_mpa double,
    max_tilt_deg double,
    brushes_required integer not null,
    blows_required integer not null,
    extraction_replaces_cleaning boolean not null,
    base_materials varchar[],
    document varchar not null,
    source_file_id integer not null,
    source_row bigint not null
);

-- One anchor set, or attempted. Columns as the site logged them, in our units; then
-- the verdicts, one bit a check (bit positions: queries/judgement.py). A check whose
-- bit is in none of the four masks is inapplicable. cone_ratio is indicative, to order
-- follow-up (views/indicative_ratio.sql). field_fault_mask has a bit for
-- each column whose value could not be read (positions: queries/columns.py);
-- record_hash finds a record by its number (queries/record_hash.py).
create table installation (
    site_code varchar not null,
    record_id varchar not null,
    revision integer not null,
    installed_at timestamptz,
    installed_on date not null,
    crew_code varchar not null,
    setting_code varchar not null,
    installer_code varchar,
    inspector_code varchar,
    work_area varchar,
    orientation varchar,
    outcome varchar,
    anchor_type_code varchar,
    anchor_length_mm double,
    length_mark varchar,
    base_material varchar,
    concrete_mpa double,
    member_thickness_mm double,
    drill_method varchar,
    extraction_on boolean,
    bit_code varchar,
    bit_diameter_mm double,
    bit_worn boolean,
    hole_depth_mm double,
    tilt_deg double,
    rebar_hit boolean,
    brush_count integer,
    blow_count integer,
    vacuumed boolean,
    cleaned boolean,
    fixture_thickness_mm double,
    packing_mm double,
    projection_mm double,
    embedment_mm double,
    edge_1_mm double,
    edge_2_mm double,
    spacing_mm double,
    setting_torque_nm double,
    recheck_torque_nm double,
    recheck_at timestamptz,
    wrench_code varchar,
    drill_s double,
    cleaning_s double,
    setting_s double,
    note varchar,
    source_file_id integer not null,
    source_row bigint not null,
    record_hash uinteger not null,
    field_fault_mask ubigint not null,
    conforming_mask uinteger not null,
    nonconforming_mask uinteger not null,
    unrecorded_mask uinteger not null,
    unreadable_mask uinteger not null,
    cone_ratio double
);

-- Earlier revisions of a record, with the verdicts they had. Same columns.
create table superseded_installation as
select * from installation  -- noqa: AM04
where false;

-- Rows whose record and revision are held with other content. Each is also a
-- rejected_row; kept whole because taking back a file can make it the one that counts.
create table conflicting_installation as
select * from installation  -- noqa: AM04
where false;

-- Rows that said again what is held: content is that of the held row of the same
-- record and revision. Taking back that row's file makes one of these the held row.
create table repeated_row (
    site_code varchar not null,
    record_id varchar not null,
    revision integer not null,
    source_file_id integer not null,
    source_row bigint not null
);

-- What the signs of a doubtful batch (site, crew and day) are counted from, kept so
-- that asking reads no rows: queries/views/batch_count.sql says what each count is.
-- wrench_code is '' where none is logged.
create table batch_tally (
    site_code varchar not null,
    crew_code varchar not null,
    installed_on date not null,
    setting_code varchar not null,
    wrench_code varchar not null,
    torques integer not null,
    outside integer not null,
    at_edge integer not null,
    on_step integer[] not null,
    may_repeat_torque integer not null,
    repeat_torque integer not null,
    may_repeat_record integer not null,
    repeat_record integer not null,
    inside integer not null,
    place_mean double,
    square_sum double
);

-- The same of times: queries/views/batch_time_count.sql.
create table batch_time_tally (
    site_code varchar not null,
    crew_code varchar not null,
    installed_on date not null,
    stamped integer not null,
    may_pace integer not null,
    impossible_pace integer not null,
    may_stamp integer not null,
    stamped_late integer not null
);

-- Batches of which a row came, changed or went since they were counted into these two
-- (etl/batch_tally.py): none in an edition.
create table stale_batch (
    site_code varchar not null,
    crew_code varchar not null,
    installed_on date not null
);

-- A row of a sheet that a later file replaced, so that the file can be taken out
-- again. source_file_id is the file that replaced it, replaced_file_id the one it came
-- from; content is the receipt's; row_key and row_text are JSON, the row whole.
create table replaced_sheet_row (
    source_file_id integer not null,
    content varchar not null,
    row_key varchar not null,
    replaced_file_id integer not null,
    row_text varchar not null
);

-- How this store judges where that is a choice of the project. One row.
-- torque_guard_frac: guard band for the torque tool's error, as a fraction of the
-- setting torque by which both ends of the torque band move inward; 0 is off.
create table judging_option (torque_guard_frac double not null);

insert into judging_option values (0);
-- From which dates a trend's limits come, once somebody has decided it. Append only:
-- the newest of a stream (check, period and filters) counts, the others stay readable.
-- Codes and sizes are sorted, with commas between them; '' is all.
create table baseline (
    baseline_id integer not null,
    check_name varchar not null,
    period varchar not null,
    site_codes varchar not null,
    crew_codes varchar not null,
    anchor_sizes varchar not null,
    from_on date not null,
    to_on date not null,
    author varchar not null,
    reason varchar not null,
    set_at timestamptz not null,
    check (from_on <= to_on)
);
