"""Many tables made in one step of a migration."""

from collections.abc import Sequence

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations import CreateModel
from django.db.migrations.operations.base import Operation, OperationCategory
from django.db.migrations.state import ProjectState


class NewTables(Operation):
    """The same as its CreateModels one after the other, in state and database.

    Django draws up the models of the state anew after each operation, with all that they refer to. Here every table
    refers to the building, so each of a hundred tables would draw up all others: most of a minute. Making a table
    looks at the state after it only, so one drawing after the last of them will do.
    """

    category = OperationCategory.ADDITION
    serialization_expand_args = ["models"]

    def __init__(self, models: Sequence[CreateModel]) -> None:
        self.models = models

    def deconstruct(self) -> tuple[str, list[object], dict[str, object]]:
        return type(self).__qualname__, [], {"models": self.models}

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        state.__dict__.pop("apps", None)  # the drawing; the state makes another when it is asked for it
        for model in self.models:
            model.state_forwards(app_label, state)

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: ProjectState, to_state: ProjectState
    ) -> None:
        for model in self.models:
            model.database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: ProjectState, to_state: ProjectState
    ) -> None:
        for model in reversed(self.models):
            model.database_backwards(app_label, schema_editor, from_state, to_state)

    def describe(self) -> str:
        return f"Create {len(self.models)} tables"
