from django.urls import path

from pieces.views import arranged, arranging, batches, bringing, deciding, library, taking_out, typing

urlpatterns = [
    path("", library.piece_list, name="piece_list"),
    path("new/", typing.piece_new, name="piece_new"),
    path("check/", typing.piece_check, name="piece_check"),
    path("how-to-type/", typing.tab_guide, name="tab_guide"),
    path("bring/", bringing.piece_bring, name="piece_bring"),
    path("brought/<int:pk>/", bringing.piece_brought, name="piece_brought"),
    path("bring/<int:pk>/", batches.batch, name="batch"),
    path("bring/<int:pk>/read/", batches.batch_step, name="batch_step"),
    path("<int:pk>/", library.piece, name="piece"),
    path("<int:pk>/about/", library.piece_about, name="piece_about"),
    path("arrangements/<int:pk>/", arranged.arrangement, name="arrangement"),
    path("arrangements/<int:pk>/settings/", arranged.arrangement_settings, name="arrangement_settings"),
    path("arrangements/<int:pk>/sections/", deciding.sections, name="sections"),
    path("arrangements/<int:pk>/decide/", deciding.decide, name="decide"),
    path("arrangements/<int:pk>/bars/<int:number>/", deciding.bar, name="bar"),
    path("arrangements/<int:pk>/arrange/", arranging.arrange, name="arrange"),
    path("arrangements/<int:pk>/instrument/", arranging.set_for, name="set_for"),
    path("arrangements/<int:pk>/shapes/", arranging.shapes, name="shapes"),
    path("arrangements/<int:pk>/out/", taking_out.take_out, name="take_out"),
    path("arrangements/<int:pk>/out/<slug:ending>/", taking_out.take_out_as, name="take_out_as"),
]
