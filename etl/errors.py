"""Errors that are the user's to fix: each says what was found, where, and what to do."""


class EvenhandError(Exception):
    """A user-facing error that prints as one line and carries no traceback.

    Parameters
    ----------
    what : str
        What was found, in plain words, without a closing full stop.
    where : str
        File, row, table, key or command concerned.
    remedy : str
        What the reader can do next.
    code : str, default ""
        Reason code such as ``E_HEADER``; empty where none applies.
    """

    def __init__(self, what: str, where: str, remedy: str, code: str = "") -> None:
        self.what = what
        self.where = where
        self.remedy = remedy
        self.code = code
        super().__init__(str(self))

    def __str__(self) -> str:
        head = f"{self.code}: " if self.code else ""
        return f"{head}{self.what} ({self.where}). {self.remedy}"


class FileRefused(EvenhandError):
    """A whole source file cannot be accepted; nothing of it was loaded."""


class StoreBusy(EvenhandError):
    """Another process is writing to the person store."""


class ReleaseRefused(EvenhandError):
    """A release would break one of its rules; nothing was published."""
