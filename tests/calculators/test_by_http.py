"""A real service on this machine, answering well and badly."""

from __future__ import annotations

import json
import math
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import ClassVar

import pytest

from refsolver.calculators.file import CalculatorFileError, read_calculator_file
from refsolver.calculators.opening import open_calculator
from refsolver.catalogue.catalogue import Catalogue
from refsolver.runs.check import run_check
from tests.plane_pulls import inputs, output

FILE = (
    """
[calculator]
name = "Pulls over the wire (made up)"
version = "1"
owner = "nobody"

[http]
address = "ADDRESS"
limit = 1.5
runtime = "a test"

[refusals]
exit_codes = [422]

[[family]]
name = "concurrent-forces/plane-resultant"

"""
    + inputs()
    + output('{ relative = "1e-9", absolute = "1e-9 kN", reason = "doubles" }')
)


class Service(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    manner = "right"
    asked = 0
    met: ClassVar[set[str]] = set()

    def log_message(self, *_):
        pass

    def do_POST(self):
        text = self.rfile.read(int(self.headers["Content-Length"])).decode()
        data = json.loads(text)
        type(self).asked += 1
        pulls = data["pulls"]
        x = sum(p["size"] * math.cos(math.radians(p["turn"])) for p in pulls)
        y = sum(p["size"] * math.sin(math.radians(p["turn"])) for p in pulls)
        status, body = 200, json.dumps({"r": math.hypot(x, y)}).encode()
        if self.manner == "refuses":
            status, body = 422, b"no"
        elif self.manner == "breaks":
            status, body = 500, b"oh dear"
        elif self.manner == "floods":
            body = b"1" * 2_000_000
        elif self.manner == "garbles":
            body = b"{r: "
        elif self.manner == "drips":
            body = b" " * 40
        elif self.manner == "hangs":
            time.sleep(4)
        elif self.manner == "hangs up" and text not in self.met:
            self.met.add(text)
            self.close_connection = True
            return
        self.send_response(status)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if self.manner == "drips":
            for part in body:
                self.wfile.write(bytes([part]))
                self.wfile.flush()
                time.sleep(0.1)
            return
        self.wfile.write(body)


class Quiet(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, *_):
        """A client that hung up first is what some of these tests are about."""


@pytest.fixture
def served(tmp_path):
    class Own(Service):
        met: ClassVar[set[str]] = set()

    server = Quiet(("127.0.0.1", 0), Own)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    path = tmp_path / "wire.toml"
    path.write_text(FILE.replace("ADDRESS", f"http://127.0.0.1:{server.server_port}/pulls?v=1"))
    yield path, Own
    server.shutdown()
    server.server_close()


def few(case):
    return "anchor" in case.id


def test_a_right_service_passes(served):
    path, _ = served
    run = run_check(read_calculator_file(path), Catalogue(), only=few)
    verdicts = [f.verdict for r in run.runs for f in r.findings]
    assert len(verdicts) > 4 and set(verdicts) == {"pass"}
    assert run.identity["runtime"] == "a test (as stated by the user)"


def test_a_runtime_that_nobody_states_is_not_said_to_be_stated(served):
    path, _ = served
    text = path.read_text()
    path.write_text("\n".join(x for x in text.splitlines() if not x.startswith("runtime")))
    assert path.read_text() != text
    assert open_calculator(read_calculator_file(path)).identity()["runtime"] == "not stated"


@pytest.mark.parametrize(
    ("manner", "verdict", "said"),
    [
        ("refuses", "refused", "HTTP status 422"),
        ("breaks", "error", "HTTP status 500: oh dear"),
        ("floods", "error", "more than 1000000 bytes"),
        ("garbles", "error", "not JSON"),
        ("hangs", "error", "no answer within 1.5 s"),
        ("drips", "error", "no answer within 1.5 s"),
    ],
)
def test_trouble_is_a_finding(served, manner, verdict, said):
    path, service = served
    service.manner = manner
    file = read_calculator_file(path)
    run = run_check(file, Catalogue(), only=lambda case: case.id.endswith("/anchor-right"))
    findings = [f for r in run.runs for f in r.findings]
    assert {f.verdict for f in findings} == {verdict}
    assert said in findings[0].why + findings[0].reported


def test_every_case_is_sent_once(served):
    path, service = served
    run = run_check(read_calculator_file(path), Catalogue(), only=few)
    assert service.asked == sum(r.asked for r in run.runs) > 3


def test_a_connection_that_is_closed_is_opened_again(served):
    path, service = served
    service.manner = "hangs up"
    path.write_text(path.read_text().replace("limit = 1.5", "limit = 30"))
    run = run_check(read_calculator_file(path), Catalogue(), only=few)
    assert [f for r in run.runs for f in r.findings if f.verdict != "pass"] == []


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("http://127.0.0.1:1/x", "nothing answers at"),
        ("https://localhost/x", "no http address on this machine"),
        ("http://example.org/x", "no http address on this machine"),
        ("http://localhost:99999/x", "no http address on this machine"),
        ("pulls", "no http address on this machine"),
    ],
)
def test_an_address_that_cannot_be_asked(tmp_path, address, said):
    path = tmp_path / "wire.toml"
    path.write_text(FILE.replace("ADDRESS", address))
    with pytest.raises(CalculatorFileError, match=said):
        open_calculator(read_calculator_file(path))
