-- What a calibration found of the wrench as it came. The table is made anew, since a
-- column can only be added behind those that say where a row stands. The view
-- found_out, which reads it, is new.
alter table wrench_calibration rename to calibration_before;

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

insert into wrench_calibration by name from calibration_before;

drop table calibration_before;
