-- output: core.surveys, with scores that may lie half way between two whole marks
-- grain:  one row a person, month, region, side and scale
-- time:   month as the DATE of its first day
-- A double holds halves exactly.
alter table core.surveys alter column score type double;
