"""What every model of the spec language shares: unknown keys are errors, values are frozen, one kind of several."""

from contextvars import ContextVar
from typing import Any, Self, TypeVar

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo, model_validator
from pydantic_core.core_schema import CoreSchema, with_info_plain_validator_function

from platekit.spec.fields import wrong

Model = TypeVar("Model", bound=BaseModel)
_INSIDE: ContextVar[bool] = ContextVar("inside", default=False)
"""Whether the validator of a model is being built at the moment."""


class ReadBefore:
    """The models of a file's groups as they were first read, for specs that differ from it by an edit.

    An edit makes new data only along its own path (`data_with`), so a group that is the very same is not read again:
    its data is held here, and never changes. What is read after the first time is not kept. All are equal: what was
    read before makes no two specs differ.
    """

    def __init__(self, *, reading: bool = False) -> None:
        """Nothing is known; models are kept as long as the file is `reading`."""
        self.reading = reading
        self._models: dict[int, tuple[object, BaseModel]] = {}

    def __eq__(self, other: object) -> bool:
        return isinstance(other, ReadBefore)

    __hash__ = None  # type: ignore[assignment]

    def known(self, kind: type[Model], value: object) -> Model | None:
        """The model of that very group, None where it was not read as one of this kind."""
        data, model = self._models.get(id(value), (None, None))
        return model if data is value and type(model) is kind else None

    def keep(self, value: object, model: BaseModel) -> None:
        """Keeps the model of a group that is read the first time."""
        if self.reading and isinstance(value, dict):
            self._models[id(value)] = (value, model)


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
        context = info.context
        before: ReadBefore | None = None if context is None else context.get("before")
        if before is not None and (known := before.known(cls, value)) is not None:
            return known
        # what is wrong in here gets its place from the model round it
        model: Self = cls.__pydantic_validator__.validate_python(value, context=context)
        if before is not None:
            before.keep(value, model)
        return model

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
