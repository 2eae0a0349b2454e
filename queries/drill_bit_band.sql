-- Usual cutting diameters of carbide hammer bits by nominal diameter, mm: from the worn
-- bit's smallest to the new bit's largest. Only where the setting data give no limits
-- of their own. From memory, to be confirmed against the anchor's assessment: metric
-- sizes after European test practice (ETAG 001 annex A), inch sizes after ACI 355.2
-- and ANSI B212.15. Grain: one row per nominal diameter.
create table drill_bit_band (
    drill_diameter_mm double not null,
    bit_min_mm double not null,
    bit_max_mm double not null
);

insert into drill_bit_band values
(5, 5.05, 5.40),
(6, 6.05, 6.40),
(7, 7.05, 7.45),
(8, 8.05, 8.45),
(10, 10.10, 10.45),
(11, 11.10, 11.50),
(12, 12.10, 12.50),
(13, 13.10, 13.50),
(14, 14.10, 14.50),
(15, 15.10, 15.50),
(16, 16.10, 16.50),
(17, 17.10, 17.50),
(18, 18.10, 18.50),
(19, 19.10, 19.55),
(20, 20.10, 20.55),
(21, 21.10, 21.55),
(22, 22.10, 22.55),
(23, 23.10, 23.55),
(24, 24.10, 24.55),
(25, 25.10, 25.55),
(26, 26.10, 26.55),
(27, 27.10, 27.55),
(28, 28.10, 28.55),
(29, 29.10, 29.55),
(30, 30.10, 30.55),
(32, 32.15, 32.70),
(34, 34.15, 34.70),
(35, 35.15, 35.70),
(37, 37.15, 37.70);

-- In inches: 1 in = 25.4 mm.
insert into drill_bit_band values
(0.25 * 25.4, 0.252 * 25.4, 0.268 * 25.4),
(0.3125 * 25.4, 0.319 * 25.4, 0.335 * 25.4),
(0.375 * 25.4, 0.381 * 25.4, 0.398 * 25.4),
(0.4375 * 25.4, 0.448 * 25.4, 0.468 * 25.4),
(0.5 * 25.4, 0.510 * 25.4, 0.530 * 25.4),
(0.5625 * 25.4, 0.573 * 25.4, 0.592 * 25.4),
(0.625 * 25.4, 0.639 * 25.4, 0.660 * 25.4),
(0.75 * 25.4, 0.764 * 25.4, 0.787 * 25.4),
(0.875 * 25.4, 0.892 * 25.4, 0.917 * 25.4),
(1.0 * 25.4, 1.017 * 25.4, 1.042 * 25.4);
