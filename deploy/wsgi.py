"""The WSGI door: `gunicorn deploy.wsgi`."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

application = get_wsgi_application()

from deploy.checks import check_before_serving  # noqa: E402  # the applications have to be loaded first

check_before_serving()
