"""One building told whatever people do to it, beside books of our own that never read the product."""

import pytest

pytest.register_assert_rewrite("tests.ledger.reading")
