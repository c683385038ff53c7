-- output: numbers of rows in the facts, named as in FactsSummary
-- grain:  one row a number
-- time:   none
-- Eight plain scans: as eight subqueries of one row they took five times as long to plan and run.
select 'bout_pieces' as name, count(*) as rows from facts.bout_piece
union all select 'spells', count(*) from facts.spell
union all select 'person_days', count(*) from facts.person_day
union all select 'person_weeks', count(*) from facts.person_week
union all select 'symptoms', count(*) from facts.symptom
union all select 'roster_rows', count(*) from facts.roster
union all select 'clipped', count(*) from facts.overlap where reason = 'W_CLIP'
union all select 'left_out', count(*) from facts.overlap where reason = 'E_OVERLAP'
