-- output: instruments used that lack a measured force or duration; figures that need it are unknown
-- grain:  one row an instrument
-- time:   none
select distinct i.instrument as offender
from core.instruments i semi join facts.bout_piece b on b.instrument = i.instrument
where plunger_mn is null or blow_out_mn is null or ejection_mn is null or press_ms is null or eject_ms is null
