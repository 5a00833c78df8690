"""What may not stand in a log: an address that opens a calendar to whoever has it."""

import logging
import re

SECRET = re.compile(r"(/calendar/)[^/\s]+")


class WithoutSecrets(logging.Filter):
    """Lets each record through, with the secret of an address taken out of what it says."""

    def filter(self, record: logging.LogRecord) -> bool:
        if isinstance(record.args, tuple):
            record.args = tuple(SECRET.sub(r"\1...", one) if isinstance(one, str) else one for one in record.args)
        return True
