"""When lessons are run as tests, the learner's record goes to a scratch file, and running them must leave none there."""

import os
import tempfile
from pathlib import Path

RECORD = os.path.join(tempfile.mkdtemp(prefix="gearkit-"), "my_record.json")
os.environ["GEARKIT_RECORD"] = RECORD


def pytest_sessionfinish(session):
    # A lesson that is run from top to bottom has answered, predicted and asked for nothing yet.
    if os.path.exists(RECORD):
        print(f"\nA lesson wrote into the learner's record when it was only run: {Path(RECORD).read_text()[:500]}")
        session.exitstatus = 1
