"""The association in one sentence, or why it is withheld."""

from models.driver_records import FAILS, Diagnostic, Effect, Refusal


def headline(effect: Effect | Refusal, diagnostics: tuple[Diagnostic, ...]) -> str | Refusal:
    """Return the association in a sentence, or why it is withheld.

    Parameters
    ----------
    effect : Effect or Refusal
        The association.
    diagnostics : tuple of Diagnostic
        Its checks.

    Returns
    -------
    str or Refusal
        The sentence; a refusal where there is none or a check failed.
    """
    if isinstance(effect, Refusal):
        return effect
    failed = [one for one in diagnostics if one.verdict == FAILS]
    if failed:
        why = " ".join(one.sentence for one in failed).rstrip(".")
        needed = "; ".join(_NEEDED[one.key] for one in failed)
        return Refusal(f"The association with {effect.exposure}", why, needed[0].upper() + needed[1:])
    way = "no clear association with"
    if effect.ratio_low > 1:
        way = "goes with more"
    elif effect.ratio_high < 1:
        way = "goes with less"
    told = f"{effect.measure} {effect.ratio:.2f} ({effect.ratio_low:.2f} to {effect.ratio_high:.2f})"
    if effect.points is not None:
        told += f", {effect.points:+.1f} points ({effect.points_low:+.1f} to {effect.points_high:+.1f})"
    return (
        f"{effect.step:g} {effect.unit} more {effect.exposure}: {way} discomfort; {told}."
        " An association, not proof of a cause."
    )


_NEEDED = {
    "events": "more answers, or fewer terms",
    "overlap": "teams whose exposure overlaps, or change of exposure within teams",
    "convergence": "fewer terms, or more answers",
    "influence": "more teams like the one that decides it",
    "trend": "what changed over these months, as a covariate",
}
