"""What every model of the spec language shares: unknown keys are errors, values are frozen, one kind of several."""

from contextvars import ContextVar
from typing import Any, Self

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo, model_validator
from pydantic_core.core_schema import CoreSchema, with_info_plain_validator_function

from platekit.spec.fields import wrong

_INSIDE: ContextVar[bool] = ContextVar("inside", default=False)
"""Whether the validator of a model is being built at the moment."""


class WordsModel(BaseModel):
    """Base of all: unknown keys are errors, values are frozen.

    A model that holds others only knows their names when it is built; each of those is built when the first of its kind
    is read. A spec uses a third of the language, and so a command starts sooner.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        if _INSIDE.get():
            return with_info_plain_validator_function(cls._read, ref=f"{cls.__module__}.{cls.__qualname__}:{id(cls)}")
        token = _INSIDE.set(True)
        try:
            return handler(source)
        finally:
            _INSIDE.reset(token)

    @classmethod
    def _read(cls, value: Any, info: ValidationInfo) -> Self:
        # what is wrong in here gets its place from the model round it
        return cls.__pydantic_validator__.validate_python(value, context=info.context)  # type: ignore[no-any-return]

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        if schema["type"] == "function-plain":
            cls.model_rebuild()
            schema = cls.__pydantic_core_schema__
        return handler(schema)


class OneOf(WordsModel):
    """Base of the models of which exactly one key is to be given; `choice` names it."""

    @model_validator(mode="after")
    def check_one_kind(self) -> Self:
        """One of its kinds is given, and no more."""
        given = [name for name in type(self).options() if getattr(self, name) is not None]
        if len(given) != 1:
            found = " and ".join(f"`{name}`" for name in given) if given else "none of its kinds"
            raise wrong(found, f"give exactly one of {', '.join(type(self).options())}")
        return self

    @classmethod
    def options(cls) -> tuple[str, ...]:
        """The keys of which one is to be given."""
        return tuple(cls.model_fields)

    @property
    def choice(self) -> str:
        """The key that was given."""
        return next(name for name in type(self).options() if getattr(self, name) is not None)
