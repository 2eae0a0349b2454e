-- Rows of the tallies whose last installation went: loads leave none any more, and what
-- reads the tallies takes each for a day with work.
delete from tally
where installations = 0;

delete from tally_month
where installations = 0;

-- Views changed as well: a time off its site's step (timed_attempt) is as written.
