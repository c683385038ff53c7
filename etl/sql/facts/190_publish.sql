-- output: the tables of schema facts that rest on logs of work, all anew
-- grain:  as the working tables of the same names
-- time:   as there
create or replace table facts.overlap as from work_overlap order by person, start_us, end_us;
create or replace table facts.spell as from work_spell order by person, spell;
create or replace table facts.bout_piece as from work_piece;
create or replace table facts.person_day as from work_person_day order by person, local_date;
create or replace table facts.person_week as from work_person_week order by person, week_start
