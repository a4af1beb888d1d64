"""Signing in with a password, for teachers."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm


class SignInForm(AuthenticationForm):
    """The e-mail address is the name a teacher signs in by."""

    username = forms.EmailField(
        label="E-mail", widget=forms.EmailInput(attrs={"autofocus": True, "autocomplete": "username"})
    )
    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": "E-mail and password do not belong together. Check both; capitals count.",
    }
