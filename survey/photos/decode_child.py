"""A child process that decodes what is not a plain JPEG, under limits of memory and time; and the parent's side of it.

The child reads one JSON line per picture from its input and answers with one JSON line and the pictures' bytes.
It lives on for the next picture, and ends when its input ends, so it cannot outlive the parent.
"""

from __future__ import annotations

import atexit
import contextlib
import json
import os
import queue
import subprocess
import sys
import threading
import warnings
from dataclasses import asdict
from pathlib import Path
from typing import IO, Any

from survey.photos.file_type import UnusableFile

MEMORY_BYTES = 2 << 30  # a HEIC of 108 megapixels takes about half of it
SECONDS = 60.0

_DIED = "The picture broke the decoder; it is damaged or made to do harm."
_SLOW = "The picture takes longer to decode than any photo should."


class Decoder:
    """One child process. Not for two threads at once."""

    def __init__(self, seconds: float = SECONDS, memory_bytes: int = MEMORY_BYTES) -> None:
        self._seconds = seconds
        package_home = str(Path(__file__).parents[2])
        paths = [package_home, *filter(None, [os.environ.get("PYTHONPATH")])]
        self._child = subprocess.Popen(
            [sys.executable, "-m", "survey.photos.decode_child", str(memory_bytes)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
        )

    @property
    def alive(self) -> bool:
        """Whether the child still answers."""
        return self._child.poll() is None

    def ask(self, request: dict[str, Any]) -> tuple[dict[str, Any], list[bytes]]:
        """Send a request; get the answer and the blobs that came with it.

        Raises:
            NotTaken: the child refused the picture, died of it, or took too long.
        """
        assert self._child.stdin
        assert self._child.stdout
        overdue = threading.Event()
        timer = threading.Timer(self._seconds, self._end_overdue, [overdue])
        timer.start()
        try:
            self._child.stdin.write(json.dumps(request).encode() + b"\n")
            self._child.stdin.flush()
            answer = json.loads(self._child.stdout.readline())
            blobs = [self._child.stdout.read(size) for size in answer.pop("blobs", [])]
        except (OSError, ValueError):
            self.close()
            raise (UnusableFile("too-large", _SLOW) if overdue.is_set() else UnusableFile("damaged", _DIED)) from None
        finally:
            timer.cancel()
        if "reason" in answer:
            raise UnusableFile(answer["reason"], answer["message"])
        return answer, blobs

    def _end_overdue(self, overdue: threading.Event) -> None:
        overdue.set()
        self._child.kill()

    def close(self) -> None:
        """End the child."""
        for pipe in (self._child.stdin, self._child.stdout):
            with contextlib.suppress(OSError):
                if pipe:
                    pipe.close()
        self._child.kill()
        self._child.wait()


class DecoderPool:
    """Children that are kept between pictures; any thread may ask."""

    def __init__(self) -> None:
        self._idle: queue.LifoQueue[Decoder] = queue.LifoQueue()

    def ask(self, request: dict[str, Any]) -> tuple[dict[str, Any], list[bytes]]:
        """As `Decoder.ask`, with a child that is free."""
        try:
            decoder = self._idle.get_nowait()
        except queue.Empty:
            decoder = Decoder()
        if not decoder.alive:  # it was ended from outside while it waited
            decoder.close()
            decoder = Decoder()
        try:
            return decoder.ask(request)
        finally:
            if decoder.alive:
                self._idle.put(decoder)

    def close(self) -> None:
        """End all children that wait."""
        while True:
            try:
                self._idle.get_nowait().close()
            except queue.Empty:
                return


POOL = DecoderPool()
atexit.register(POOL.close)


def serve(requests: IO[bytes], answers: IO[bytes]) -> None:
    """The child: answer each request until there are no more."""
    for line in requests:
        try:
            answer, blobs = _answer(json.loads(line))
        except UnusableFile as refusal:
            answer, blobs = {"reason": refusal.reason, "message": refusal.message}, []
        except MemoryError:
            answer, blobs = {"reason": "too-large", "message": "The picture needs more memory than a photo should."}, []
        answers.write(json.dumps({**answer, "blobs": [len(blob) for blob in blobs]}).encode() + b"\n")
        for blob in blobs:
            answers.write(blob)
        answers.flush()


def _answer(request: dict[str, Any]) -> tuple[dict[str, Any], list[bytes]]:
    from survey.photos.decode import crop_file, decode_photo

    path = Path(request["path"])
    if "box" in request:
        return {}, [crop_file(path, tuple(request["box"]), request["width_px"])]
    developed = asdict(decode_photo(path))
    return developed, [developed.pop("thumb"), developed.pop("view")]


def _limit_memory(memory_bytes: int) -> None:
    if sys.platform == "win32":
        return
    import resource

    with contextlib.suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    _limit_memory(int(sys.argv[1]))
    with contextlib.suppress(KeyboardInterrupt, BrokenPipeError):
        serve(sys.stdin.buffer, sys.stdout.buffer)
