"""A real server on a real port, for tests of what is served."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import httpx
import uvicorn

from api.jobs import Bounds
from api.server import create_app

__all__ = ["serving"]


@contextmanager
def serving(bounds: Bounds) -> Iterator[httpx.Client]:
    """A server in a thread, and a client that knows its address."""
    listener = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(create_app(bounds), log_level="warning", lifespan="on"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        with httpx.Client(base_url=f"http://127.0.0.1:{listener.getsockname()[1]}", timeout=90) as client:
            yield client
    finally:
        server.should_exit = True
        thread.join(30)
        listener.close()
    assert not thread.is_alive()
