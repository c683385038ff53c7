-- output: facts.case_rule, which answers count as discomfort from when on
-- grain:  one row a series of answers
-- time:   since is the DATE of its first month; the first series has no beginning and says year 1
create or replace table facts.case_rule (
    since date not null, definition varchar not null, scale varchar not null, case_score smallint not null
)
