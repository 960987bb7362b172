"""What every model of the spec language shares: unknown keys are errors, values are frozen, one kind of several."""

from typing import Self

from pydantic import BaseModel, ConfigDict, model_validator

from platekit.spec.fields import wrong


class WordsModel(BaseModel):
    """Base of all: unknown keys are errors, values are frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)
    # built on first use: a spec needs the validator of the whole only, and a command starts sooner


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
