"""Questions left out: how many of those who answered anything answered for each body region."""

from etl.release_rows import Job, Row
from etl.sqlfiles import sql
from models.disclosure import TOO_SMALL, percent_of


def item_rows(job: Job) -> list[Row]:
    """Return the rows of table ``item_response``: the organisation's month by region.

    Heads only, no answer: who answered is taken as known to everybody. A region that nobody was asked about,
    or that nobody answered, has no row.

    Parameters
    ----------
    job : Job
        Edition in the making.

    Returns
    -------
    list of tuple
        Rows without the edition number.
    """
    floor = job.settings.privacy.health_floor_month
    rows: list[Row] = []
    found = job.con.execute(sql("release/065_item_response"), {"month": job.month.first_day}).fetchall()
    for region, answered, people in found:
        head = (str(job.month), "organisation", "ORG", region)
        if people < floor:
            rows.append((*head, None, TOO_SMALL))
        else:
            rows.append((*head, percent_of(answered, people), None))
    return rows
