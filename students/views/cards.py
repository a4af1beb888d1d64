"""Signing in by card or code."""

from django import forms
from django.http import JsonResponse
from django.shortcuts import redirect, render

from students import cards
from studio.accounts.access import EVERYBODY, allow

UNKNOWN_CARD = "This card is not in use any more. Ask your teacher for a new one."
UNKNOWN_CODE = "This code is not right, or it was used already. Ask your teacher for a new one."
WAIT = "There were many tries from here. Wait ten minutes and try again."


class CodeForm(forms.Form):
    """The code a teacher read out, or the token of a card."""

    token = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)
    code = forms.CharField(
        label="Code from your teacher",
        max_length=20,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "characters"}),
    )
    shared = forms.BooleanField(label="This is a shared tablet: sign out after two hours", required=False)

    def card(self):
        """The card that token or code opens. Adds the error in words where there is none."""
        if token := self.cleaned_data["token"]:
            card, field, unknown = cards.card_of_token(token), None, UNKNOWN_CARD
        else:
            card, field, unknown = cards.use_code(self.cleaned_data["code"]), "code", UNKNOWN_CODE
        if card is None:
            self.add_error(field, unknown)
        return card


@allow(EVERYBODY, "GET", "POST")
def card_sign_in(request):
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        address = request.META["REMOTE_ADDR"]
        if cards.too_many_tries(address):
            form.add_error(None, WAIT)
        elif card := form.card():
            cards.sign_in(request, card, shared_tablet=form.cleaned_data["shared"])
            return redirect("home")
        else:
            cards.note_failure(address)
    return render(request, "students/card_sign_in.html", {"form": form})


@allow(EVERYBODY, "POST")
def card_whose(request):
    """The name to write on the button, so that a child sees whose card it is."""
    address = request.META["REMOTE_ADDR"]
    if cards.too_many_tries(address):
        return JsonResponse({"fault": WAIT}, status=429)
    card = cards.card_of_token(request.POST.get("token", "")[:64])
    if card is None:
        cards.note_failure(address)
        return JsonResponse({"fault": UNKNOWN_CARD}, status=404)
    if card.holder == "guardian":
        return JsonResponse({"name": f"the family of {card.student.name}"})
    return JsonResponse({"name": card.student.name})
