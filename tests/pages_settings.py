"""Settings of the pages under test: a folder of the run's own, and a password hash that costs nothing."""

import os
import tempfile

os.environ["TETHERA_STORE"] = tempfile.mkdtemp(prefix="tethera-test-")
os.environ["TETHERA_HOSTS"] = "localhost,127.0.0.1,testserver"
os.environ.pop("TETHERA_DEMO", None)
os.environ.pop("TETHERA_FIRST_VISIT_KEY", None)

from tethera.web.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
