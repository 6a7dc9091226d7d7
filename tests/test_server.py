"""Cases over HTTP, against a real server on a real port: its answers, its refusals, and that nothing hangs it."""

from __future__ import annotations

import copy
import json
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from api.jobs import Bounds
from api.records import ProblemDocument, Record
from tests.serving import serving

CASE: dict[str, Any] = {
    "case": 1,
    "title": "A small slab",
    "units": "si",
    "slab": {"thickness": "40 mm", "outline": [[0, 0], [0.8, 0], [0.8, 0.5], [0, 0.5]]},
    "concrete": {"density": 2400, "compressive_strength": "40 MPa"},
    "stage": [
        {
            "name": "rest",
            "age": 28,
            "up": "show",
            "support": [
                {"name": "left", "kind": "line", "points": [[0.05, 0.02], [0.05, 0.48]], "action": "rest"},
                {"name": "right", "kind": "line", "points": [[0.75, 0.02], [0.75, 0.48]], "action": "rest"},
            ],
        }
    ],
}

# Tasks that a hostile or unlucky case would amount to, by the case's title.
SLOW = """
import os, signal, time
from api.json_body import parse_body

def check(body, judge, progress):
    if b"read for ever" in body:
        time.sleep(600)
    return ""

def solve(body, advice, judge, progress):
    title = parse_body(body)["title"]
    progress(1, 3, "begun")
    if title == "for ever":
        time.sleep(600)
    if title == "dies":
        os.kill(os.getpid(), signal.SIGKILL)
    if title == "fails":
        raise ZeroDivisionError("a bug")
    return b'{"made": "up"}', ["rest"], []

def draw(body, stage, face, progress):
    return b"PNG " + face.encode()
"""


@pytest.fixture(scope="module")
def client() -> Iterator[httpx.Client]:
    """A server that does real work."""
    with serving(Bounds(workers=1, body=200_000)) as one:
        yield one


@pytest.fixture
def fragile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the servers of a test do the made-up work above."""
    (tmp_path / "slow_tasks.py").write_text(SLOW)
    monkeypatch.syspath_prepend(tmp_path)
    for name, task in (("CHECK", "check"), ("SOLVE", "solve"), ("DRAW", "draw")):
        monkeypatch.setattr(f"api.jobs.{name}", f"slow_tasks:{task}")


def titled(title: str) -> dict[str, Any]:
    return copy.deepcopy(CASE) | {"title": title}


def problem(response: httpx.Response, status: int) -> dict[str, Any]:
    """The problem document of a refusal, checked against its grammar."""
    assert response.status_code == status, response.text
    assert response.headers["content-type"] == "application/problem+json"
    document: dict[str, Any] = response.json()
    ProblemDocument.model_validate(document)
    assert document["status"] == status
    assert document["instance"]
    return document


def until(client: httpx.Client, id: str, *states: str) -> dict[str, Any]:
    """The record once it is in one of these states."""
    record: dict[str, Any] = {}
    for _ in range(400):
        record = client.get(f"/api/analyses/{id}").json()
        if record["state"] in states:
            return record
        time.sleep(0.05)
    raise AssertionError(f"still {record['state']}")


def test_a_case_is_solved_as_from_a_file(client: httpx.Client) -> None:
    response = client.post("/api/analyses?wait=60", json=CASE)
    assert response.status_code == 200
    record = Record.model_validate(response.json())
    assert (record.state, record.problem) == ("done", None)
    assert record.progress.step == record.progress.of
    assert response.headers["location"] == f"/api/analyses/{record.id}"
    assert record.result is not None
    assert record.result.stages[0].status == "holds"
    # Weight on two lines: statics.
    forces = [support.force_N for support in record.result.stages[0].supports]
    assert sum(force or 0 for force in forces) == pytest.approx(0.8 * 0.5 * 0.04 * 2400 * 9.80665, rel=1e-9)
    assert client.get(response.headers["location"]).json() == response.json()
    # What came back can be sent again, and is the same case.
    again = client.post("/api/analyses?wait=60", json=response.json()["result"]["case"]).json()
    assert again["result"]["hash"] == record.result.hash


def test_without_waiting_it_is_taken_and_can_be_asked_for(client: httpx.Client) -> None:
    response = client.post("/api/analyses", json=CASE)
    assert response.status_code == 202
    record = until(client, response.json()["id"], "done")
    assert Record.model_validate(record).result is not None


def test_a_map_is_drawn_when_it_is_asked_for(client: httpx.Client) -> None:
    record = client.post("/api/analyses?wait=60", json=CASE).json()
    address = f"/api/analyses/{record['id']}/maps"
    first = client.get(f"{address}/rest/underside.png")
    assert first.status_code == 200
    assert first.headers["content-type"] == "image/png"
    assert first.content.startswith(b"\x89PNG")
    assert client.get(f"{address}/rest/underside.png").content == first.content
    for picture in ("life/show", "life/underside", "rest/shape"):
        assert client.get(f"{address}/{picture}.png").content.startswith(b"\x89PNG"), picture
    assert "no one shape" in problem(client.get(f"{address}/life/shape.png"), 404)["detail"]
    assert "there are: rest" in problem(client.get(f"{address}/carry/show.png"), 404)["detail"]
    assert problem(client.get(f"{address}/rest/top.png"), 422)["errors"][0]["where"] == "path.face"


def test_every_fault_of_a_case_is_told_with_its_path(client: httpx.Client) -> None:
    bad = copy.deepcopy(CASE)
    bad["slab"]["thickness"] = -1
    bad["stage"][0]["support"][1]["gap"] = "1 MPa"
    bad["stage"][0]["supprt"] = []
    document = problem(client.post("/api/analyses", json=bad), 422)
    assert document["type"] == "urn:tensionlay:wrong-case"
    where = {fault["where"] for fault in document["errors"]}
    assert where == {"slab.thickness", "stage[0].support[1].gap", "stage[0].supprt"}
    assert all(fault["what"] and fault["fix"] for fault in document["errors"])


def test_a_drawing_is_not_read_from_the_servers_disk(client: httpx.Client) -> None:
    bad = copy.deepcopy(CASE)
    bad["slab"]["outline"] = {"file": "/etc/passwd"}
    fault = problem(client.post("/api/analyses", json=bad), 422)["errors"][0]
    assert fault["where"].startswith("slab.outline")
    assert "root:" not in json.dumps(fault)


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (b"", "not JSON"),
        (b"{", "not JSON"),
        (b"[]", "not a JSON object"),
        (b'{"case": NaN}', "NaN"),
        (b'{"case": -Infinity}', "-Infinity"),
        (b'{"case": 1e999}', "too large"),
        (b'{"case": ' + b"9" * 5000 + b"}", "too large"),
        (b'{"case": 1, "case": 1}', 'the key "case" is given twice'),
        (b'{"a":' * 30000, "too deep"),
        (b"[" * 150_000, "too deep"),
        (b'{"case": "\xff"}', "not UTF-8"),
        (b'{"title": "\\ud800"}', "half a character"),
    ],
)
def test_what_is_no_json_is_400(client: httpx.Client, body: bytes, told: str) -> None:
    response = client.post("/api/analyses", content=body, headers={"content-type": "application/json"})
    assert told in problem(response, 400)["detail"]


@pytest.mark.parametrize(
    "body", [b"{}", b'{"case": 2}', b'{"case": 1, "units": 3}', b'{"": null}', b'{"case": 100000000000000000000000}']
)
def test_json_that_is_no_case_is_422(client: httpx.Client, body: bytes) -> None:
    response = client.post("/api/analyses", content=body, headers={"content-type": "application/json"})
    assert problem(response, 422)["errors"]


def test_a_body_has_a_bound_whether_it_says_its_length_or_not(client: httpx.Client) -> None:
    def chunks() -> Iterator[bytes]:
        for _ in range(1000):
            yield b" " * 1000

    headers = {"content-type": "application/json"}
    for content in (b" " * 200_001, chunks()):
        document = problem(client.post("/api/analyses", content=content, headers=headers), 413)
        assert "at most 200000" in document["detail"]


@pytest.mark.parametrize(
    ("method", "address", "status"),
    [
        ("GET", "/", 404),
        ("GET", "/api/analyses/nobody", 404),
        ("DELETE", "/api/analyses/nobody", 404),
        ("GET", "/api/analyses/nobody/maps/rest/show.png", 404),
        ("PUT", "/api/analyses", 405),
        ("POST", "/api/analyses?wait=61", 422),
        ("POST", "/api/analyses?wait=-1", 422),
        ("POST", "/api/analyses?wait=nan", 422),
        ("POST", "/api/analyses?wait=soon", 422),
    ],
)
def test_the_frameworks_own_refusals_are_problems_too(
    client: httpx.Client, method: str, address: str, status: int
) -> None:
    response = client.request(method, address)
    problem(response, status)
    if status == 405:
        assert response.headers["allow"]


def test_a_body_that_is_not_declared_as_json_is_refused(client: httpx.Client) -> None:
    text = json.dumps(CASE).encode()
    for kind in ("text/plain", "application/x-www-form-urlencoded"):
        problem(client.post("/api/analyses", content=text, headers={"content-type": kind}), 415)


@pytest.mark.usefixtures("fragile")
def test_cancelling() -> None:
    with serving(Bounds(workers=1, warm=False)) as client:
        running = client.post("/api/analyses", json=titled("for ever")).json()["id"]
        waiting = client.post("/api/analyses", json=titled("for ever")).json()["id"]
        assert until(client, running, "running")
        assert client.get(f"/api/analyses/{waiting}").json()["state"] == "queued"
        for id in (waiting, running):
            assert client.delete(f"/api/analyses/{id}").json()["state"] == "cancelled"
        # The next one finds a fresh process.
        done = client.post("/api/analyses?wait=30", json=CASE).json()
        assert done["result"] == {"made": "up"}
        # What is over stays as it is.
        assert client.delete(f"/api/analyses/{done['id']}").json() == done
        assert client.get(f"/api/analyses/{running}").json()["state"] == "cancelled"
        address = f"/api/analyses/{running}/maps/rest/show.png"
        assert "cancelled" in problem(client.get(address), 409)["detail"]
        assert client.get(f"/api/analyses/{done['id']}/maps/rest/show.png").content == b"PNG show"


@pytest.mark.usefixtures("fragile")
def test_a_case_that_never_ends_is_ended() -> None:
    with serving(Bounds(workers=1, warm=False, work_time=1.0, read_time=1.0)) as client:
        record = client.post("/api/analyses?wait=30", json=titled("for ever")).json()
        assert record["state"] == "failed"
        assert record["problem"]["type"] == "urn:tensionlay:too-long"
        assert "longer than 1 s, the bound" in record["problem"]["detail"]
        problem(client.post("/api/analyses", json=titled("read for ever")), 503)
        assert client.post("/api/analyses?wait=30", json=CASE).json()["state"] == "done"


@pytest.mark.usefixtures("fragile")
def test_a_death_and_a_bug_end_one_analysis_only() -> None:
    with serving(Bounds(workers=1, warm=False)) as client:
        dead = client.post("/api/analyses?wait=30", json=titled("dies")).json()
        assert (dead["state"], dead["problem"]["status"]) == ("failed", 500)
        assert "SIGKILL" in dead["problem"]["detail"]
        failed = client.post("/api/analyses?wait=30", json=titled("fails")).json()
        assert failed["problem"]["detail"] == "ZeroDivisionError: a bug"
        assert failed["problem"]["instance"] == f"/api/analyses/{failed['id']}"
        assert client.post("/api/analyses?wait=30", json=CASE).json()["state"] == "done"


@pytest.mark.usefixtures("fragile")
def test_the_queue_has_a_bound() -> None:
    with serving(Bounds(workers=1, warm=False, waiting=2)) as client:
        first = client.post("/api/analyses", json=titled("for ever")).json()["id"]
        until(client, first, "running")
        for _ in range(2):
            assert client.post("/api/analyses", json=titled("for ever")).status_code == 202
        response = client.post("/api/analyses", json=CASE)
        assert "2 analyses, the most at a time, are waiting" in problem(response, 429)["detail"]
        assert int(response.headers["retry-after"]) > 0
        seen: list[dict[str, Any]] = []
        while not seen or seen[-1]["what"] == "starting":
            seen.append(client.get(f"/api/analyses/{first}").json()["progress"])
        assert seen[-1] == {"step": 1, "of": 3, "what": "begun"}


@pytest.mark.usefixtures("fragile")
def test_only_so_many_finished_ones_are_kept() -> None:
    with serving(Bounds(workers=1, warm=False, kept=2)) as client:
        ids = [client.post("/api/analyses?wait=30", json=CASE).json()["id"] for _ in range(3)]
        problem(client.get(f"/api/analyses/{ids[0]}"), 404)
        assert [client.get(f"/api/analyses/{id}").status_code for id in ids[1:]] == [200, 200]
    with serving(Bounds(workers=1, warm=False, kept_time=0.0)) as client:
        problem(client.get(f"/api/analyses/{client.post('/api/analyses?wait=30', json=CASE).json()['id']}"), 404)


@pytest.mark.usefixtures("fragile")
def test_a_body_that_trickles_in_is_given_up() -> None:
    with serving(Bounds(workers=1, warm=False, body_time=0.5)) as client:

        def chunks() -> Iterator[bytes]:
            for _ in range(20):
                yield b" "
                time.sleep(0.1)

        headers = {"content-type": "application/json"}
        problem(client.post("/api/analyses", content=chunks(), headers=headers), 408)


@pytest.mark.usefixtures("fragile")
def test_many_may_wait_while_others_are_answered() -> None:
    with serving(Bounds(workers=1, warm=False, waiting=200)) as client:
        threads = [
            threading.Thread(target=lambda: client.post("/api/analyses?wait=3", json=titled("for ever")))
            for _ in range(60)
        ]
        for thread in threads:
            thread.start()
        time.sleep(1.0)
        begin = time.monotonic()
        problem(client.get("/api/analyses/nobody"), 404)
        assert time.monotonic() - begin < 1.0
        for thread in threads:
            thread.join()
