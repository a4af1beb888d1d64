"""The studio's addresses, and the least that a write can be: read a row, change it, nothing else."""

from django.db import transaction
from django.http import HttpResponse
from django.urls import path
from django.views.decorators.csrf import csrf_exempt

from studio.accounts.models import Studio
from studio.urls import urlpatterns as studio_urls


@csrf_exempt
def bare(request):
    with transaction.atomic():
        studio = Studio.objects.select_for_update().earliest("pk")
        studio.felt_beats = not studio.felt_beats
        studio.save(update_fields=["felt_beats"])
    return HttpResponse("ok")


urlpatterns = [*studio_urls, path("drill/bare/", bare)]
