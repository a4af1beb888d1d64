"""Every address of the studio."""

urlpatterns = []
