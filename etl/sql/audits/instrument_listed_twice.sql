-- output: instruments listed more than once in the catalogue
-- grain:  one row an instrument
-- time:   none
select instrument as offender from core.instruments group by instrument having count(*) > 1
