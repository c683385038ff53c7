"""The nine-site questionnaire as data: which sites, which sides, which items, over which time."""

from dataclasses import dataclass

NINE_SITES = (
    "NECK", "SHOULDER", "UPPER_BACK", "ELBOW", "WRIST_HAND", "LOW_BACK", "HIP_THIGH", "KNEE", "ANKLE_FOOT",
)  # fmt: skip

SIDED = ("SHOULDER", "ELBOW", "WRIST_HAND")
"""Sites whose side the original form asks for (right, left or both); from memory."""

MODES = ("PAPER", "ONLINE", "INTERVIEW", "HEALTH_CHECK")
"""Ways of asking. Focused studies find more than periodic health checks, so two ways are no one series."""


@dataclass(frozen=True)
class Item:
    """One question put for each site.

    Attributes
    ----------
    code : str
        Name.
    text : str
        What is asked, in our words.
    months : float
        Time it looks back on.
    answers : str
        ``yes or no`` or the code of a rating scale.
    """

    code: str
    text: str
    months: float
    answers: str


@dataclass(frozen=True)
class Questionnaire:
    """A questionnaire in one version.

    Attributes
    ----------
    code, version : str
        Identity; another version is another questionnaire.
    sites, sided : tuple of str
        Sites asked about, and those asked by side.
    items : tuple of Item
        Questions put for each site.
    source, status : str
        Where it comes from, and how well that is known.
    """

    code: str
    version: str
    sites: tuple[str, ...]
    sided: tuple[str, ...]
    items: tuple[Item, ...]
    source: str
    status: str

    def sides(self, site: str) -> tuple[str, ...]:
        """Return the sides that can be answered for a site.

        Parameters
        ----------
        site : str
            Site code.

        Returns
        -------
        tuple of str
            ``NONE`` alone where no side is asked.

        Raises
        ------
        ValueError
            If the questionnaire does not ask about the site.
        """
        if site not in self.sites:
            raise ValueError(f"{self.code} {self.version} does not ask about {site}")
        return ("LEFT", "RIGHT", "BOTH") if site in self.sided else ("NONE",)


GENERAL = Questionnaire(
    "NINE_SITE",
    "1987",
    NINE_SITES,
    SIDED,
    (
        Item("TROUBLE_12M", "Trouble at any time during the last 12 months.", 12.0, "yes or no"),
        Item(
            "HINDERED_12M",
            "Prevented from normal work at any time during the last 12 months.",
            12.0,
            "yes or no",
        ),
        Item("TROUBLE_7D", "Trouble at any time during the last 7 days.", 0.23, "yes or no"),
    ),
    "Kuorinka I and others 1987, Appl Ergon 18:233; structure as described in Occup Med 2007;57:300",
    "published (quoted)",
)

MONTHLY = Questionnaire(
    "MONTHLY_RATING",
    "1",
    NINE_SITES,
    SIDED,
    (
        Item("SCORE", "Strongest discomfort during the month, 0 none to 10 worst.", 1.0, "NRS_0_10"),
        Item("HINDERED", "Hindered at work or leisure during the month.", 1.0, "yes or no"),
    ),
    "this project; sites of the nine-site questionnaire",
    "own convention",
)


ASKED = {one.code: one for one in (MONTHLY, GENERAL)}
"""Questionnaires that survey files may name."""


def one_series(first: tuple[str, str, str, str], then: tuple[str, str, str, str]) -> str | None:
    """Say whether two surveys may stand in one series, or why not.

    Parameters
    ----------
    first, then : tuple of str
        Questionnaire, version, scale and mode of each survey.

    Returns
    -------
    str or None
        None where they may; otherwise the reason and the remedy.
    """
    names = ("questionnaire", "version", "scale", "way of asking")
    changed = [f"{name} ({a} to {b})" for name, a, b in zip(names, first, then, strict=True) if a != b]
    if not changed:
        return None
    remedy = (
        "bridge the scales by a month in which people answer both"
        if len(changed) == 1 and first[2] != then[2]
        else "start a new series from here"
    )
    return f"not one series: another {' and '.join(changed)}; {remedy}"
