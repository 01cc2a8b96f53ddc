"""What the docstring below a field says."""

from pydantic import Field

from fourpatch.document.meaning import Described, meaning


class Spring(Described):
    """A spring."""

    rate: float
    """Force per travel,
    at ride height."""
    length: float
    name: str = Field(description="Said in the field itself.")
    """Said below it."""


class StifferSpring(Spring):
    """A spring with a stop."""

    rate: float
    """Another sentence."""
    stop: float
    """Where it bites."""

    class Stop(Described):
        """Inside another."""

        gap: float
        """How far it is."""


def test_the_sentence_below_a_field_is_its_meaning() -> None:
    assert meaning(Spring, "rate") == "Force per travel,\nat ride height."
    assert meaning(Spring, "length") == ""
    assert meaning(StifferSpring.Stop, "gap") == "How far it is."


def test_a_derived_model_has_the_meanings_of_its_base_unless_it_says_otherwise() -> None:
    assert meaning(StifferSpring, "stop") == "Where it bites."
    assert meaning(StifferSpring, "rate") == "Another sentence."
    assert meaning(StifferSpring, "name") == "Said below it."


def test_a_class_made_in_a_function_is_found() -> None:
    class Twice(Described):
        """Made in a function."""

        gap: float
        """In the function."""

    assert meaning(Twice, "gap") == "In the function."


def test_the_json_schema_says_what_each_field_means() -> None:
    fields = StifferSpring.model_json_schema()["properties"]
    assert fields["rate"]["description"] == "Another sentence."
    assert fields["name"]["description"] == "Said in the field itself."
    assert "description" not in fields["length"]


def test_a_field_that_is_a_model_itself_keeps_its_own_meaning_in_the_schema() -> None:
    class Car(Described):
        """A car."""

        front: Spring
        """At the front."""

    schema = Car.model_json_schema()
    assert schema["properties"]["front"]["description"] == "At the front."
    assert schema["$defs"]["Spring"]["properties"]["rate"]["description"].startswith("Force per travel")
