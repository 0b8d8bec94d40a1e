"""One program for all windows of a data folder: a second start hands its file to the first and ends.

Imported late: a first start finds nobody, and has its window up before it begins to listen.
"""

import json
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtNetwork import QLocalServer, QLocalSocket

from app.window.meeting_place import meeting_place

WITHIN_MS = 1500
MOST_BYTES = 64 * 1024


def handed_over(folder: Path, file: Path | None) -> bool:
    """Whether a program that runs already took the file (None: a start without one)."""
    socket = QLocalSocket()
    socket.connectToServer(meeting_place(folder))
    if not socket.waitForConnected(WITHIN_MS):
        return False
    wish = {"file": str(file.absolute()) if file is not None else None}
    socket.write(json.dumps(wish).encode() + b"\n")
    socket.flush()
    taken = socket.waitForReadyRead(WITHIN_MS) and socket.readAll().data() == b"ok"
    socket.disconnectFromServer()
    return bool(taken)


class Listener(QObject):
    """Hears of second starts; ``wanted(file)`` opens a window, None for one without a file."""

    def __init__(self, folder: Path, wanted: Callable[[Path | None], object], parent: QObject) -> None:
        super().__init__(parent)
        self._wanted = wanted
        self._server = QLocalServer(self)
        self._server.setSocketOptions(QLocalServer.SocketOption.UserAccessOption)
        self._server.newConnection.connect(self._take)
        place = meeting_place(folder)
        if not self._server.listen(place):  # left behind by one that did not end properly
            QLocalServer.removeServer(place)
            self._server.listen(place)

    @property
    def hears(self) -> bool:
        """Whether second starts are heard of."""
        return self._server.isListening()

    def close(self) -> None:
        """Hear of nothing any more."""
        self._server.close()

    def _take(self) -> None:
        while (socket := self._server.nextPendingConnection()) is not None:
            socket.readyRead.connect(lambda socket=socket: self._read(socket))
            socket.disconnected.connect(socket.deleteLater)

    def _read(self, socket: QLocalSocket) -> None:
        if not socket.canReadLine():
            if socket.bytesAvailable() > MOST_BYTES:
                socket.abort()
            return
        file: object = None
        with suppress(ValueError, AttributeError):
            file = json.loads(bytes(socket.readLine(MOST_BYTES).data())).get("file")
        socket.write(b"ok")
        socket.flush()
        self._wanted(Path(file) if isinstance(file, str) and file else None)
