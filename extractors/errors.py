"""The one error class for everything a user can put right."""


class UserError(Exception):
    """Something the user can fix: what is wrong, and a hint what to do.

    The command line prints both lines and exits with 2.
    """

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
