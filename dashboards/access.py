"""Who may open what: roles of a site, read from one TOML file; whoever is not named sees nothing."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from etl.errors import EvenhandError

# A room that is not named here is open to the ergonomist only.
COMMITTEE_ROOMS = ("Month", "Load", "Drivers", "Changes", "Plan", "Data")
MANAGER_ROOMS = ("Load",)
ROLES = ("ergonomist", "committee", "manager")
KINDS = ("proxy", "oidc", "demo")


@dataclass(frozen=True)
class Grant:
    """What one reader may open.

    Attributes
    ----------
    role : str
        ergonomist, committee or manager.
    teams : tuple of str
        Team codes of a manager; empty for the others.
    rooms : tuple of str or None
        Rooms; None means all.
    """

    role: str
    teams: tuple[str, ...] = ()
    rooms: tuple[str, ...] | None = None

    @property
    def words(self) -> str:
        """The role as the page says it."""
        return f"manager of {', '.join(self.teams)}" if self.role == "manager" else self.role


ERGONOMIST = Grant("ergonomist")
COMMITTEE = Grant("committee", rooms=COMMITTEE_ROOMS)


def manager_of(*teams: str) -> Grant:
    """Return the grant of a manager: own teams' exposure and the organisation's beside it."""
    return Grant("manager", teams, MANAGER_ROOMS)


@dataclass(frozen=True)
class Members:
    """Who has a role: groups of the identity provider, and single identities."""

    groups: frozenset[str] = frozenset()
    people: frozenset[str] = frozenset()

    def has(self, person: str, groups: Iterable[str]) -> bool:
        """Return whether a person, or one of the groups, is named."""
        return person in self.people or bool(self.groups & set(groups))


@dataclass(frozen=True)
class SignIn:
    """How readers are known.

    Attributes
    ----------
    kind : {"proxy", "oidc", "demo"}
        A trusted proxy's headers, OpenID Connect, or a choice that is not checked.
    user_header, groups_header, secret_header : str
        Headers that the proxy sets: the person, the groups, and the secret that shows it is the proxy.
    issuer, client, redirect_url : str
        OpenID Connect: the provider, which describes itself below this address; our name there; where it
        sends readers back to.
    person_claim, groups_claim : str
        Claims of the identity token that name the person and list the groups.
    """

    kind: str = "proxy"
    user_header: str = "X-Remote-User"
    groups_header: str = "X-Remote-Groups"
    secret_header: str = "X-Evenhand-Proxy"
    issuer: str = ""
    client: str = ""
    redirect_url: str = ""
    person_claim: str = "email"
    groups_claim: str = "groups"


@dataclass(frozen=True)
class Serving:
    """Where the rooms are served.

    Attributes
    ----------
    origins : tuple of str
        Hosts, with a port where it is not the usual one, under which readers reach the rooms.
    address : str
        Address to listen on.
    port : int
        Port to listen on.
    sessions : int
        Most open pages at a time.
    root_path : str
        Path below which the proxy serves the rooms, empty for none.
    """

    origins: tuple[str, ...] = ()
    address: str = "127.0.0.1"
    port: int = 5006
    sessions: int = 20
    root_path: str = ""


@dataclass(frozen=True)
class Access:
    """A site's access file.

    Attributes
    ----------
    sign_in : SignIn
        How readers are known.
    serving : Serving
        Where the rooms are served.
    ergonomist, committee : Members
        Who has these roles.
    managers : dict of str to Members
        Team code -> who manages it.
    """

    sign_in: SignIn = field(default_factory=SignIn)
    serving: Serving = field(default_factory=Serving)
    ergonomist: Members = field(default_factory=Members)
    committee: Members = field(default_factory=Members)
    managers: Mapping[str, Members] = field(default_factory=dict)

    def grant(self, person: str, groups: Iterable[str]) -> Grant | None:
        """Return what a person may open.

        Parameters
        ----------
        person : str
            Identity, as the provider states it.
        groups : iterable of str
            Groups of the person.

        Returns
        -------
        Grant or None
            The widest role named for the person; None if there is none.
        """
        known = set(groups)
        if not person:
            return None
        if self.ergonomist.has(person, known):
            return ERGONOMIST
        if self.committee.has(person, known):
            return COMMITTEE
        teams = sorted(team for team, members in self.managers.items() if members.has(person, known))
        return manager_of(*teams) if teams else None


def read_access(path: Path) -> Access:
    """Read an access file.

    Parameters
    ----------
    path : Path
        TOML file.

    Returns
    -------
    Access
        Its content.

    Raises
    ------
    EvenhandError
        If it cannot be read, or names anything unknown: a misspelt rule must not open or close a room
        unnoticed.
    """
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise EvenhandError(
            f"The access file cannot be read: {str(error).splitlines()[0]}", str(path), _SEE
        ) from error
    _only(content, {"sign_in", "serve", "roles"}, "", path)
    sign_in = _record(SignIn, content.get("sign_in", {}), "sign_in", path)
    if sign_in.kind not in KINDS:
        raise EvenhandError(f"Unknown sign-in '{sign_in.kind}'", str(path), f"There are: {', '.join(KINDS)}.")
    roles = content.get("roles", {})
    _only(roles, set(ROLES), "roles", path)
    managers = roles.get("manager", {})
    return Access(
        sign_in,
        _record(Serving, content.get("serve", {}), "serve", path),
        _members(roles.get("ergonomist", {}), "roles.ergonomist", path),
        _members(roles.get("committee", {}), "roles.committee", path),
        {team: _members(named, f"roles.manager.{team}", path) for team, named in managers.items()},
    )


_SEE = "DEVELOPERS.md shows one under 'Serving for a site'."


def _only(found: Any, known: set[str], where: str, path: Path) -> None:
    if not isinstance(found, dict):
        raise EvenhandError(f"'{where}' is no table", str(path), _SEE)
    unknown = sorted(set(found) - known)
    if unknown:
        place = f"[{where}] of {path}" if where else str(path)
        raise EvenhandError(f"Unknown '{unknown[0]}'", place, f"There are: {', '.join(sorted(known))}.")


def _record(kind: Any, found: Any, where: str, path: Path) -> Any:
    fields = kind.__dataclass_fields__
    _only(found, set(fields), where, path)
    values: dict[str, Any] = {}
    for name, value in found.items():
        default = fields[name].default
        listed = isinstance(default, tuple) and isinstance(value, list)
        value = tuple(str(item) for item in value) if listed else value
        if type(value) is not type(default):
            raise EvenhandError(
                f"'{name}' is of the wrong kind", f"[{where}] of {path}", f"Write it like {default!r}."
            )
        values[name] = value
    return kind(**values)


def _members(found: Any, where: str, path: Path) -> Members:
    _only(found, {"groups", "people"}, where, path)
    for name, value in found.items():
        texts = isinstance(value, list) and all(isinstance(item, str) and item.strip() for item in value)
        if not texts:
            raise EvenhandError(f"'{name}' is no list of names", f"[{where}] of {path}", _SEE)
    return Members(frozenset(found.get("groups", [])), frozenset(found.get("people", [])))
