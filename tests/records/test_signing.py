"""Detached signatures: made and checked here, against openssl, and the vector of RFC 8032."""

from __future__ import annotations

import base64
import shutil
import subprocess
import sys

import pytest

from refsolver.records.canonical import RecordError, sealed, write_record
from refsolver.records.signing import SigningError, sign_record, signature_problem
from tests.command import command

pytest.importorskip("cryptography")
OPENSSL = shutil.which("openssl")
needs_openssl = pytest.mark.skipif(OPENSSL is None, reason="openssl is not installed")


def pem(kind, der):
    body = base64.encodebytes(der).decode()
    return f"-----BEGIN {kind} KEY-----\n{body}-----END {kind} KEY-----\n"


# RFC 8032, 7.1, TEST 2 (one-byte message 0x72); PEM wrapping of raw keys: RFC 8410, 7 and 4
SECRET = bytes.fromhex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
PUBLIC = bytes.fromhex("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c")
SIGNED = bytes.fromhex(
    "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
    "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
)


@pytest.fixture
def keys(tmp_path):
    """A private and a public key, those of the RFC's test."""
    key, public = tmp_path / "key.pem", tmp_path / "public.pem"
    key.write_text(pem("PRIVATE", bytes.fromhex("302e020100300506032b657004220420") + SECRET))
    public.write_text(pem("PUBLIC", bytes.fromhex("302a300506032b6570032100") + PUBLIC))
    return key, public


@pytest.fixture
def record(tmp_path):
    path = tmp_path / "record.json"
    write_record(sealed({"made up": "for this test"}, {}), path)
    return path


def test_the_vector_of_the_rfc_holds(tmp_path, keys):
    message, signature = tmp_path / "message", tmp_path / "message.sig"
    message.write_bytes(b"\x72")
    signature.write_bytes(base64.b64encode(SIGNED) + b"\n")
    assert signature_problem(message, signature, keys[1]) == ""
    message.write_bytes(b"\x73")
    assert "is not a signature of these bytes" in signature_problem(message, signature, keys[1])


def test_a_record_signed_here_holds_until_a_byte_changes(record, keys):
    path = sign_record(record, keys[0])
    assert path.name == "record.json.sig" and len(base64.b64decode(path.read_text())) == 64
    assert signature_problem(record, path, keys[1]) == ""
    record.write_bytes(record.read_bytes().replace(b"for", b"off"))
    assert "record.json.sig" in signature_problem(record, path, keys[1])


@needs_openssl
def test_openssl_makes_the_keys_and_checks_the_signature(record, tmp_path):
    def openssl(*arguments):
        subprocess.run([OPENSSL, *map(str, arguments)], check=True, timeout=60, cwd=tmp_path)

    key, public, raw = tmp_path / "own.pem", tmp_path / "own-public.pem", tmp_path / "raw.sig"
    openssl("genpkey", "-algorithm", "ed25519", "-out", key)
    openssl("pkey", "-in", key, "-pubout", "-out", public)
    path = sign_record(record, key)
    assert signature_problem(record, path, public) == ""
    raw.write_bytes(base64.b64decode(path.read_text()))
    openssl(
        "pkeyutl", "-verify", "-pubin", "-inkey", public, "-rawin", "-in", record, "-sigfile", raw
    )


def test_another_key_does_not_fit(record, keys, tmp_path):
    path = sign_record(record, keys[0])
    other = tmp_path / "other.pem"
    # RFC 8032, 7.1, TEST 1
    raw = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
    other.write_text(pem("PUBLIC", bytes.fromhex("302a300506032b6570032100") + raw))
    assert "by the key of other.pem" in signature_problem(record, path, other)


@needs_openssl
def test_keys_of_another_kind_and_locked_keys_are_refused(record, tmp_path):
    for name, *arguments in (
        ("curve.pem", "-algorithm", "EC", "-pkeyopt", "ec_paramgen_curve:P-256"),
        ("locked.pem", "-algorithm", "ed25519", "-aes256", "-pass", "pass:x"),
    ):
        subprocess.run(
            [OPENSSL, "genpkey", *arguments, "-out", tmp_path / name], check=True, timeout=60
        )
    with pytest.raises(SigningError, match="a key of another kind"):
        sign_record(record, tmp_path / "curve.pem")
    with pytest.raises(SigningError, match="encrypted"):
        sign_record(record, tmp_path / "locked.pem")


def test_an_altered_record_is_not_signed(record, keys):
    record.write_bytes(record.read_bytes().replace(b"made up", b"made_up"))
    with pytest.raises(SigningError, match="altered since it was written .* run the check again"):
        sign_record(record, keys[0])
    assert not record.with_name("record.json.sig").exists()


def test_what_cannot_be_used_says_so(record, keys, tmp_path):
    junk = tmp_path / "junk"
    junk.write_text("neither a key nor a signature")
    with pytest.raises(SigningError, match="holds no private key"):
        sign_record(record, junk)
    with pytest.raises(SigningError, match="holds no public key"):
        signature_problem(record, junk, junk)
    with pytest.raises(SigningError, match="is no signature file"):
        signature_problem(record, junk, keys[1])
    with pytest.raises(SigningError, match="cannot be read"):
        signature_problem(record, tmp_path / "none.sig", keys[1])
    with pytest.raises(RecordError, match="is not a record"):
        sign_record(junk, keys[0])
    assert not (tmp_path / "junk.sig").exists()


def test_the_commands(record, keys, tmp_path):
    done = command("sign", record, "--key", keys[0])
    assert done.status == 0 and "record.json.sig" in done.words
    done = command("sign", record, "--key", tmp_path / "none.pem")
    assert done.status == 2 and "cannot be read" in done.words
    done = command("verify", record, "--signature", record)
    assert done.status == 2 and "go together" in done.words


def test_a_missing_library_is_said_with_the_way_to_mend_it(record, keys, monkeypatch):
    monkeypatch.setitem(sys.modules, "cryptography", None)
    done = command("sign", record, "--key", keys[0])
    assert done.status == 2 and "pip install 'refsolver[sign]'" in done.words
