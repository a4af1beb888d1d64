"""Static files whose names carry a digest of their content, in our modules' imports too."""

from whitenoise.storage import CompressedManifestStaticFilesStorage

OUR_IMPORTS = (r'(?P<matched>from "(?P<url>\./[\w-]+\.js)")', 'from "%(url)s"')


class ModuleStorage(CompressedManifestStaticFilesStorage):
    """So that a module never meets an older one, and a device can keep each for good."""

    patterns = (*CompressedManifestStaticFilesStorage.patterns, ("studio/*.js", (OUR_IMPORTS,)))
