"""The settings of the tests: kegsafe's own, with a folder that goes away and nothing slow.

DATABASE_URL still decides the database; tests/doors/test_on_postgresql.py uses that.
"""

import os
import tempfile

# Kept in a name: the folder goes when the process ends.
FOLDER = tempfile.TemporaryDirectory(prefix="kegsafe-tests-", ignore_cleanup_errors=True)

os.environ["KEGSAFE_DATA"] = FOLDER.name
os.environ["KEGSAFE_SECRET_KEY"] = "known-to-everybody-and-good-for-tests-only-0123456789"
os.environ["KEGSAFE_TLS"] = "off"
os.environ["KEGSAFE_ALLOWED_HOSTS"] = "testserver,localhost,127.0.0.1"
for name in ("KEGSAFE_DEMO", "KEGSAFE_DEBUG", "KEGSAFE_TRUSTED_PROXY"):
    os.environ.pop(name, None)

from kegsafe.settings import *  # noqa: E402
from kegsafe.settings import DATA_DIR, DATABASES, STATIC_ROOT, STORAGES  # noqa: E402

# A file, not memory: several connections, write-ahead log and locks are as they are in a bar.
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}

# The live server of the tests finds files by their plain names; the hashed ones are fetched
# through the real server in tests/doors/test_serving.py.
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
STATIC_ROOT.mkdir()

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
