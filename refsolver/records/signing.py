"""A detached signature of a record: Ed25519 (RFC 8032) over the bytes of its file.

The key is the user's own (made by openssl, see the README) and never kept here. The
signature file holds the 64 bytes of the signature in Base64 and a line end. The library
``cryptography`` is an optional extra: ``pip install 'refsolver[sign]'``.
"""

from __future__ import annotations

import base64
import binascii
from pathlib import Path
from typing import TYPE_CHECKING

from refsolver.catalogue.userfile import FileUnreadable, file_bytes, write_text
from refsolver.records.alterations import alterations
from refsolver.records.canonical import read_record

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import (
        Ed25519PrivateKey,
        Ed25519PublicKey,
    )

__all__ = ["SigningError", "sign_record", "signature_problem"]

_SIGNATURE_BYTES = 64
"""RFC 8032, 5.1.6."""


class SigningError(RuntimeError):
    """No signature can be made or checked; says what is missing and how to mend it."""


def sign_record(record: Path, key: Path) -> Path:
    """Signs the record's file with the private key of a PEM file; returns ``RECORD.sig``.

    Raises SigningError for a missing library, an unusable key or a record that was altered
    since it was written, RecordError where ``record`` is none. Whether its values come out
    again is for ``verify``.
    """
    private = _private_key(key)
    altered = list(alterations(file_bytes(record), read_record(record)))
    if altered:
        raise SigningError(
            f"{record}: is not signed, for it was altered since it was written "
            f"({altered[0]}); refsolver verify lists what was; run the check again"
        )
    path = record.with_name(f"{record.name}.sig")
    write_text(path, base64.b64encode(private.sign(record.read_bytes())) + b"\n")
    return path


def signature_problem(record: Path, signature: Path, public: Path) -> str:
    """Why the signature is not one of these bytes by this key; "" where it is.

    Raises SigningError for a missing library, an unusable key or no signature file.
    """
    key = _public_key(public)
    from cryptography.exceptions import InvalidSignature

    made = _signature(signature)
    try:
        key.verify(made, record.read_bytes())
    except InvalidSignature:
        return (
            f"{signature.name} is not a signature of these bytes by the key of {public.name}; ask "
            "whoever signed for the record, its signature and the key that belong together"
        )
    return ""


def _signature(path: Path) -> bytes:
    try:
        made = base64.b64decode(_bytes(path).strip(), validate=True)
    except binascii.Error:
        made = b""
    if len(made) != _SIGNATURE_BYTES:
        raise SigningError(
            f"{path}: is no signature file ({_SIGNATURE_BYTES} bytes in Base64 are expected); "
            "refsolver sign writes one"
        )
    return made


def _private_key(path: Path) -> Ed25519PrivateKey:
    _need_library()
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        key = load_pem_private_key(_bytes(path), password=None)
    except TypeError:
        raise SigningError(
            f"{path}: the key is encrypted; give one without a passphrase, decrypted for the "
            "moment (openssl pkey -in KEY.pem -out PLAIN.pem)"
        ) from None
    except (ValueError, UnsupportedAlgorithm):
        raise SigningError(
            f"{path}: holds no private key in PEM form; make one (openssl genpkey -algorithm "
            "ed25519)"
        ) from None
    if not isinstance(key, Ed25519PrivateKey):
        raise SigningError(
            f"{path}: is a key of another kind; make an Ed25519 key (openssl "
            "genpkey -algorithm ed25519)"
        )
    return key


def _public_key(path: Path) -> Ed25519PublicKey:
    _need_library()
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    from cryptography.hazmat.primitives.serialization import load_pem_public_key

    try:
        key = load_pem_public_key(_bytes(path))
    except (ValueError, UnsupportedAlgorithm):
        raise SigningError(
            f"{path}: holds no public key in PEM form; write it (openssl pkey -in KEY.pem -pubout)"
        ) from None
    if not isinstance(key, Ed25519PublicKey):
        raise SigningError(f"{path}: is a key of another kind; give an Ed25519 key")
    return key


def _bytes(path: Path) -> bytes:
    try:
        return file_bytes(path, 1_000_000)
    except FileUnreadable as error:
        raise SigningError(str(error)) from None


def _need_library() -> None:
    try:
        import cryptography  # noqa: F401
    except ImportError:
        raise SigningError(
            "signatures need the library cryptography: pip install 'refsolver[sign]'"
        ) from None
