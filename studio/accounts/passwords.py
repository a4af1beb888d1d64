"""Passwords that are long and still easily guessed."""

import string

from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError

AROUND = string.digits + string.punctuation + string.whitespace
FEWEST_DIFFERENT, SHORTEST_CORE = 5, 5


class NotPadded:
    """Refuses a common password made long: repeated, or with figures and signs around it.

    Lists of common passwords are mostly short ones, which a minimum of twelve characters
    refuses anyhow; what people then do is to pad them.
    """

    def validate(self, password, user=None):
        said = password.lower()
        core = said.strip(AROUND)
        if len(set(said)) < FEWEST_DIFFERENT or len(core) < SHORTEST_CORE or self._is_common(core):
            raise ValidationError(
                "This is easily guessed: few different letters, or a common word with figures around it. "
                "Take several words.",
                code="padded",
            )

    def get_help_text(self):
        return "A common word with figures around it is refused."

    def _is_common(self, core: str) -> bool:
        known = CommonPasswordValidator().passwords
        half = core[: len(core) // 2]
        return core in known or (core == half * 2 and half in known)
