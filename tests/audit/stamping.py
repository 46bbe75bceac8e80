"""A time-stamping authority of the tests' own: `openssl ts`, with certificates made on the spot."""

from __future__ import annotations

import shutil
import subprocess

import pytest

CONFIG = """
[ tsa ]
default_tsa = tsa_config
[ tsa_config ]
serial = {folder}/serial
crypto_device = builtin
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256, sha512
accuracy = secs:1
ess_cert_id_alg = sha256
[ usual ]
extendedKeyUsage = critical,timeStamping
[ lax ]
extendedKeyUsage = critical,timeStamping,codeSigning
[ none ]
keyUsage = digitalSignature
[ req ]
distinguished_name = name
[ name ]
"""


class Authority:
    """A time-stamping authority of the test's own, for as long as the test runs."""

    def __init__(self, folder, extensions="usual"):
        self.folder = folder
        folder.mkdir()
        (folder / "config").write_text(CONFIG.format(folder=folder))
        (folder / "serial").write_text("01")
        self.run(
            "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -keyout root.key"
            " -out root.pem -days 3650 -subj /CN=invented-root -config config"
        )
        self.run(
            "req -new -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -keyout tsa.key"
            " -out tsa.csr -subj /CN=invented-authority -config config"
        )
        self.run(
            "x509 -req -in tsa.csr -CA root.pem -CAkey root.key -CAcreateserial -out tsa.pem"
            f" -days 365 -extfile config -extensions {extensions}"
        )

    @property
    def root(self) -> bytes:
        return (self.folder / "root.pem").read_bytes()

    def run(self, command: str) -> None:
        subprocess.run(
            ["openssl", *command.split()], cwd=self.folder, check=True, capture_output=True
        )

    def stamp(self, request: bytes) -> bytes:
        (self.folder / "request").write_bytes(request)
        self.run(
            "ts -reply -queryfile request -config config -section tsa_config -signer tsa.pem"
            " -inkey tsa.key -out response"
        )
        return (self.folder / "response").read_bytes()


needs_openssl = pytest.mark.skipif(not shutil.which("openssl"), reason="openssl is not installed")
