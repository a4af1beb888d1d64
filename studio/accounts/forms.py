"""Signing in with a password, for teachers; inviting one, and taking an invitation."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import validate_password

from studio.accounts.models import Membership, User

LENGTH = "At least 12 characters, any you like; several words are good. Common passwords are refused."


class SignInForm(AuthenticationForm):
    """The e-mail address is the name a teacher signs in by."""

    username = forms.EmailField(
        label="E-mail", widget=forms.EmailInput(attrs={"autofocus": True, "autocomplete": "username"})
    )
    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": "E-mail and password do not belong together. Check both; capitals count.",
    }


class InviteForm(forms.Form):
    """Whom to let in, and as what."""

    email = forms.EmailField(label="E-mail of the teacher")
    role = forms.ChoiceField(
        label="May",
        choices=[
            (Membership.TEACHER, "teach: learners, lessons, pieces, printing"),
            (Membership.OWNER, "own: also the studio’s settings and who teaches here"),
        ],
        initial=Membership.TEACHER,
    )


class JoinForm(forms.Form):
    """Name and password of a new account; of one that is there (``known``) its password only."""

    name = forms.CharField(
        label="Your name", max_length=80, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    password = forms.CharField(label="Password", strip=False, help_text=LENGTH, max_length=256)

    def __init__(self, *args, email: str, known: bool, **more):
        super().__init__(*args, **more)
        self._email, self._known = email, known
        kind = "current-password" if known else "new-password"
        self.fields["password"].widget = forms.PasswordInput(attrs={"autocomplete": kind})
        if known:
            del self.fields["name"]
            self.fields["password"].help_text = ""

    def clean_password(self):
        password = self.cleaned_data["password"]
        if not self._known:
            validate_password(password, User(email=self._email, name=self.cleaned_data.get("name", "")))
        return password
