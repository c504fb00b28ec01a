"""Rows that are written once."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NoReturn

from django.core.exceptions import ValidationError
from django.db import models


class ImmutableQuerySet(models.QuerySet):
    """Rows that are written once. Bulk paths are closed too, since they pass `save` and `delete` by."""

    def update(self, **kwargs: Any) -> NoReturn:
        raise ValidationError(f"A {self.model._meta.verbose_name} never changes.")

    def delete(self) -> NoReturn:
        raise ValidationError(f"A {self.model._meta.verbose_name} never disappears.")

    def bulk_update(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise ValidationError(f"A {self.model._meta.verbose_name} never changes.")

    def bulk_create(self, objs: Iterable[Any], *args: Any, **kwargs: Any) -> list[Any]:
        if kwargs.get("update_conflicts"):
            raise ValidationError(f"A {self.model._meta.verbose_name} never changes.")
        return super().bulk_create(objs, *args, **kwargs)


class Immutable(models.Model):
    objects = ImmutableQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise ValidationError(f"A {self._meta.verbose_name} never changes.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise ValidationError(f"A {self._meta.verbose_name} never disappears.")
