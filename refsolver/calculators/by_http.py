"""A calculator that answers on this machine over HTTP: one POST of JSON a case.

The body is one object, its fields as the mapping places them; numbers are doubles. The
answer is JSON in the same manner. Only this machine is spoken to: what a calculator under
test is handed goes nowhere else.
"""

from __future__ import annotations

import http.client
import json
import time
from collections.abc import Iterator, Sequence
from typing import Any
from urllib.parse import urlsplit

from refsolver.calculators.contract import Asked, Failure, Received
from refsolver.calculators.fields import nested
from refsolver.calculators.file import CalculatorFile, CalculatorFileError
from refsolver.calculators.json_values import values_from_json
from refsolver.calculators.settings import Settings, stated_by_the_user

__all__ = ["HttpCalculator"]

_HERE = ("localhost", "127.0.0.1", "::1")
_MOST_BYTES = 1_000_000


class HttpCalculator:
    """``[http] address = "http://localhost:8080/solve"``, optional ``limit``, ``runtime``.

    ``limit`` is in seconds; ``runtime`` says what answers there, as the user states it. A
    status in ``[refusals] exit_codes`` (422, say) is a refusal, another one than 200 a
    failure. A failed connection is tried once more: services close idle ones.
    """

    takes_doubles = True
    resumable = True

    def __init__(self, file: CalculatorFile) -> None:
        self.file = file
        settings = Settings(file, ("address", "limit", "runtime"))
        self._address = settings.text("address")
        self._limit = settings.seconds("limit", 10.0)
        given = settings.get("runtime") is not None
        self._runtime = settings.text("runtime") if given else ""
        url = urlsplit(self._address)
        try:
            port = url.port or 80
        except ValueError:
            port = 0
        if url.scheme != "http" or url.hostname not in _HERE or not port:
            raise settings.problem(
                "address",
                f"{self._address!r} is no http address on this machine; write it as "
                "http://localhost:PORT/PATH",
            )
        self._path = (url.path or "/") + (f"?{url.query}" if url.query else "")
        self._connection = http.client.HTTPConnection(url.hostname, port, timeout=self._limit)
        try:
            self._connection.connect()
        except OSError as error:
            raise CalculatorFileError(
                f"{file.path}: http.address: nothing answers at {self._address} "
                f"({error.strerror or error}); start the service first"
            ) from None

    def identity(self) -> dict[str, Any]:
        return {
            "address": self._address,
            "runtime": stated_by_the_user(self._runtime),
            "files": [],
        }

    def ask(self, questions: Sequence[Asked]) -> Iterator[Received]:
        return map(self._one, questions)

    def _one(self, question: Asked) -> Received:
        fields = nested({slot.place: slot.handed for slot in question.slots})
        body = json.dumps(fields).encode("utf-8")
        started = time.perf_counter()
        try:
            status, text = self._posted(body)
        except TimeoutError:
            return Received(failure=Failure("timeout", f"no answer within {self._limit:g} s"))
        except (OSError, http.client.HTTPException) as error:
            said = str(error) or type(error).__name__
            return Received(failure=Failure("crash", f"the connection failed: {said}"))
        seconds = time.perf_counter() - started
        raw = {"status": status, "body": text}
        if len(text) > _MOST_BYTES:
            failure = Failure("output limit", f"more than {_MOST_BYTES} bytes")
            return Received(raw=raw, failure=failure, seconds=seconds)
        if status in self.file.refusals.exit_codes:
            refusal = Failure("refusal", f"HTTP status {status}")
            return Received(raw=raw, failure=refusal, seconds=seconds)
        if status != http.client.OK:
            shown = text[:200].decode("utf-8", "replace")
            failure = Failure("exception", f"HTTP status {status}: {shown}")
            return Received(raw=raw, failure=failure, seconds=seconds)
        values = values_from_json(question, text.decode("utf-8", "replace"))
        return Received(values, raw, seconds=seconds)

    def _posted(self, body: bytes, again: bool = True) -> tuple[int, bytes]:
        headers = {"Content-Type": "application/json", "Accept": "application/json"}
        try:
            self._connection.request("POST", self._path, body, headers)
            answer = self._connection.getresponse()
            return answer.status, self._read(answer)
        except TimeoutError:
            self._connection.close()
            raise
        except (OSError, http.client.HTTPException):
            self._connection.close()
            if not again:
                raise
            return self._posted(body, again=False)

    def _read(self, answer: http.client.HTTPResponse) -> bytes:
        """The body, up to a little more than is allowed; within the limit as a whole."""
        deadline, text = time.monotonic() + self._limit, b""
        while part := answer.read1(65_536):
            text += part
            if len(text) > _MOST_BYTES:
                self._connection.close()
                break
            if time.monotonic() > deadline:
                raise TimeoutError
        answer.close()  # read1 leaves it open, and the connection would not take another request
        return text

    def close(self) -> None:
        self._connection.close()
