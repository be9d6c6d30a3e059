"""When lessons are run as tests, the learner's record goes to a scratch file, never into this folder."""

import os
import tempfile

os.environ["GEARKIT_RECORD"] = os.path.join(tempfile.mkdtemp(prefix="gearkit-"), "my_record.json")
