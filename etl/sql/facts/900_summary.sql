-- output: numbers of rows in the facts, in the order of FactsSummary
-- grain:  one row
-- time:   none
select
    (select count(*) from facts.bout_piece) as bout_pieces,
    (select count(*) from facts.spell) as spells,
    (select count(*) from facts.person_day) as person_days,
    (select count(*) from facts.person_week) as person_weeks,
    (select count(*) from facts.symptom) as symptoms,
    (select count(*) from facts.roster) as roster_rows,
    (select count(*) from facts.overlap where reason = 'W_CLIP') as clipped,
    (select count(*) from facts.overlap where reason = 'E_OVERLAP') as left_out
