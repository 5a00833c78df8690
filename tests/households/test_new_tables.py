"""Tables made in one step of a migration are those that one step each would have made."""

from typing import Any

from django.db import connection, models
from django.db.migrations.operations import CreateModel
from django.db.migrations.state import ProjectState

from households.new_tables import NewTables


def key_to(model: str) -> Any:
    return models.ForeignKey(model, on_delete=models.CASCADE)


def table(name: str, **fields: Any) -> CreateModel:
    return CreateModel(name, [("id", models.BigAutoField(primary_key=True)), *fields.items()])


HOUSE = table("House")
TREES = [table("Tree", house=key_to("x.house")), table("Nest", tree=key_to("x.tree"), moved_to=key_to("x.nest"))]


class Editor:
    """Notes what it is told instead of doing it."""

    def __init__(self) -> None:
        self.connection = connection
        self.told: list[tuple[str, ...]] = []

    def create_model(self, model: Any) -> None:
        self.told.append(("create", model.__name__, *(one.name for one in model._meta.local_fields)))

    def delete_model(self, model: Any) -> None:
        self.told.append(("delete", model.__name__))


def with_a_house() -> ProjectState:
    state = ProjectState()
    HOUSE.state_forwards("x", state)
    assert state.apps.get_model("x", "house")  # drawn, as in the middle of a migration
    return state


def test_state_and_database_are_those_of_one_table_after_the_other() -> None:
    before, each, at_once = with_a_house(), with_a_house(), with_a_house()
    one_by_one, together = Editor(), Editor()
    for tree in TREES:
        tree.state_forwards("x", each)
        tree.database_forwards("x", one_by_one, before, each)  # type: ignore[arg-type]
    NewTables(TREES).state_forwards("x", at_once)
    NewTables(TREES).database_forwards("x", together, before, at_once)  # type: ignore[arg-type]
    assert at_once == each
    assert together.told == one_by_one.told
    assert together.told == [("create", "Tree", "id", "house"), ("create", "Nest", "id", "tree", "moved_to")]
    assert at_once.apps.get_model("x", "nest")._meta.get_field("tree").related_model.__name__ == "Tree"


def test_taken_back_the_last_goes_first() -> None:
    before, after, editor = with_a_house(), with_a_house(), Editor()
    NewTables(TREES).state_forwards("x", after)
    NewTables(TREES).database_backwards("x", editor, after, before)  # type: ignore[arg-type]
    assert editor.told == [("delete", "Nest"), ("delete", "Tree")]
