"""The guard: nothing but our own pages is answered, on any route."""

import socket
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from demo_bench import demo_bench
from farface.web.bodies import MOST_BYTES
from farface.web.guard import HEADERS, Guard, Lock
from farface.web.serve import bare_app, create_app, listening

OURS = "http://127.0.0.1:8123"
FOREIGN_HOSTS = ("attacker.example", "127.0.0.1", "127.0.0.1:9", "127.0.0.1:8123.attacker.example", "")
FOREIGN_ORIGINS = ("http://attacker.example", "null", "http://127.0.0.1:9", "https://127.0.0.1:8123", "")


def every_route() -> list[tuple[str, str]]:
    """List method and path of all that the pages serve; a name in a path is filled with a word."""
    served = bare_app(Path("nowhere")).openapi()["paths"]
    found = [(method.upper(), path) for path, item in served.items() for method in item]
    return [*found, ("GET", "/look.css"), ("GET", "/static/style.css"), ("GET", "/openapi.json"),
            ("POST", "/nothing-here"), ("DELETE", "/"), ("OPTIONS", "/")]  # fmt: skip


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Guard:
    """Make the pages once: what is refused reaches no bench."""
    return create_app(demo_bench(tmp_path_factory.mktemp("guarded") / "bench").folder, lock=Lock.at(8123))


@pytest.fixture
def client(app: Guard) -> TestClient:
    return TestClient(app, base_url=OURS)


ROUTES = pytest.mark.parametrize(("method", "path"), every_route())


@ROUTES
@pytest.mark.parametrize("host", FOREIGN_HOSTS)
def test_a_foreign_host_is_refused_everywhere(client: TestClient, method: str, path: str, host: str) -> None:
    assert client.request(method, path, headers={"host": host}).status_code == 403


@ROUTES
@pytest.mark.parametrize("origin", FOREIGN_ORIGINS)
def test_a_foreign_origin_is_refused_everywhere(
    client: TestClient, method: str, path: str, origin: str
) -> None:
    client.get("/look.css")  # even with the token
    assert client.request(method, path, headers={"origin": origin}).status_code == 403


@ROUTES
def test_a_change_needs_the_token_and_our_own_site(client: TestClient, method: str, path: str) -> None:
    if method == "GET":
        return
    assert client.request(method, path, headers={"origin": OURS}).status_code == 403
    client.get("/look.css")
    cross = client.request(method, path, headers={"sec-fetch-site": "cross-site"})
    assert cross.status_code == 403


def test_our_own_change_passes_the_guard(client: TestClient) -> None:
    client.get("/look.css")
    assert client.post("/nothing-here", headers={"origin": OURS}).status_code == 404
    assert client.post("/nothing-here", headers={"sec-fetch-site": "same-origin"}).status_code == 404


def test_the_token_of_an_earlier_start_opens_nothing(client: TestClient) -> None:
    client.cookies.set("farface-8123", "of-yesterday")
    answer = client.post("/nothing-here", headers={"origin": OURS})
    assert answer.status_code == 403
    assert "Reload" in answer.text
    assert answer.headers.get("set-cookie") is None
    assert "farface-8123=" in client.get("/look.css").headers["set-cookie"]


@pytest.mark.parametrize("path", ["/", "/rig.json", "/static/style.css", "/not-there"])
def test_every_answer_carries_the_headers_and_no_cross_origin_leave(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    assert all(headers[name] for name in HEADERS)
    assert "unsafe-inline" not in headers["content-security-policy"]
    assert not [name for name in headers if name.startswith("access-control-")]
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie


def test_two_hosts_in_one_request_are_refused() -> None:
    guard = Guard(app=None, lock=Lock.at(8123))  # type: ignore[arg-type]
    client = TestClient(guard, base_url=OURS)
    request = client.build_request("GET", "/", headers=[("host", "127.0.0.1:8123"), ("host", "evil.example")])
    assert client.send(request).status_code == 403


def test_a_body_larger_than_a_form_needs_is_not_read(client: TestClient) -> None:
    client.get("/look.css")
    whole = client.post("/nothing-here", headers={"origin": OURS}, content=b"x" * (MOST_BYTES + 1))
    assert whole.status_code == 413


@pytest.mark.parametrize(
    "path", ["/static/../serve.py", "/static/%2e%2e/serve.py", "/static/..%2f..%2fkernel.py"]
)
def test_no_path_leads_out_of_the_static_files(client: TestClient, path: str) -> None:
    assert client.get(path).status_code in (400, 404)


def test_small_answers_are_sent_at_once() -> None:
    # asyncio turns the wait for a full packet off (40 ms an answer) only on sockets that are named as TCP.
    with listening(0) as listener:
        assert listener.proto == socket.IPPROTO_TCP
        assert listener.getsockname()[0] == "127.0.0.1"
