-- output: facts that are negative, or a part larger than its whole
-- grain:  one row a fact
-- time:   as in the fact
select concat_ws(' ', 'piece', person, make_timestamp(start_us)) as offender
from facts.bout_piece
where least(end_us - start_us, strokes, beyond_guide_us, force_time_mn_ms, peak_force_mn) < 0
    or beyond_guide_us > end_us - start_us
union all
select concat_ws(' ', 'spell', person, spell) from facts.spell where least(end_us - start_us, working_us) < 0
union all
select concat_ws(' ', 'day', person, local_date)
from facts.person_day
where least(pipetting_us, strokes, beyond_guide_us, rests_micro, rests_long) < 0
    or least(force_time_mn_ms, peak_force_mn) < 0
    or beyond_guide_us > pipetting_us or force_known_us not between 0 and pipetting_us
union all
select concat_ws(' ', 'roster', person, month, team)
from facts.roster
where days_on_team not between 1 and day(last_day(month))
