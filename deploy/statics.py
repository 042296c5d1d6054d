"""Static files under names that carry their content, also where one module names another: a module that a page loads by its new name and
another module by its plain one would be there twice, and everything it listens to would be heard twice."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class Statics(CompressedManifestStaticFilesStorage):
    """As before, with the imports of modules rewritten too. The plain names stay beside them, for the floor page."""

    support_js_module_import_aggregation = True
