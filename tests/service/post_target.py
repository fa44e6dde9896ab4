"""A loopback address that takes POSTs and answers as told."""

from __future__ import annotations

import threading
from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Self


class PostTarget:
    """Takes POSTs; answers with ``status``, after ``hold`` has returned."""

    def __init__(self) -> None:
        self.status, self.location, self.drop = 204, "", False
        self.hold: Callable[[], object] = lambda: None
        self.seen: list[tuple[str, dict[str, str], bytes]] = []
        outer = self

        class Handler(BaseHTTPRequestHandler):
            # Head and body are two writes: held back, the second would wait for the first one's receipt.
            disable_nagle_algorithm = True

            def do_POST(self) -> None:
                self.take()

            def do_GET(self) -> None:
                self.take()

            def take(self) -> None:
                body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
                outer.seen.append((self.path, {k.lower(): v for k, v in self.headers.items()}, body))
                outer.hold()
                if outer.drop:
                    self.close_connection = True
                    return
                self.send_response(outer.status)
                if outer.location:
                    self.send_header("Location", outer.location)
                self.send_header("Content-Length", "0")
                self.end_headers()

            def log_message(self, *_: object) -> None:
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True).start()
        self.url = f"http://127.0.0.1:{self.server.server_address[1]}/in"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.server.shutdown()
        self.server.server_close()
