"""Static files as they are served: each module imports the very version it was written with."""

import re

import pytest
from django.contrib.staticfiles import finders
from django.core.files.storage import FileSystemStorage

from students.views.kept import MODULES
from studio.storage import ModuleStorage


@pytest.fixture
def collected(tmp_path):
    """Our modules under the names they are served by: name to text."""
    storage = ModuleStorage(location=tmp_path, base_url="/static/")
    source = FileSystemStorage(location=finders.find("studio").rsplit("/", 1)[0])
    names = [f"studio/{name}.js" for name in MODULES]
    for name in names:
        with source.open(name) as file:
            storage.save(name, file)
    served = {}
    for _name, hashed, processed in storage.post_process({name: (storage, name) for name in names}):
        assert not isinstance(processed, Exception), processed
        if hashed.endswith(".js"):  # and not what is made of it: .gz, .br
            served[hashed] = (tmp_path / hashed).read_text()
    return served


def test_a_module_imports_others_by_names_that_carry_their_digest(collected):
    imported = [name for text in collected.values() for name in re.findall(r'from "\./([^"]+)"', text)]
    assert len(imported) > 6
    assert all(re.search(r"\.[0-9a-f]{12}\.js$", name) for name in imported)
    assert {f"studio/{name}" for name in imported} <= set(collected)
