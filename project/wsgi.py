import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "project.settings")
application = get_wsgi_application()

from project.data import refuse_to_serve  # noqa: E402 (it reads rows, which takes the applications)
from project.memory import collect_rarely  # noqa: E402

refuse_to_serve()
collect_rarely()
