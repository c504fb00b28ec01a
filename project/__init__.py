"""Settings, addresses and the worker. The Celery app is loaded with Django, so that a page can ring for a worker."""

from project.celery import app as celery_app

__all__ = ["celery_app"]
