import os
import pathlib
import signal
import struct
import threading
import time
import zlib

import numpy as np
import pytest

import circumfluence as cf

# What starts the tests in the background may have the signal ignored; those of Ctrl-C would wait for ever.
signal.signal(signal.SIGINT, signal.default_int_handler)

ROOT = pathlib.Path(__file__).resolve().parents[2]


def write_png(path, tones):
    """An 8-bit grey PNG from a uint8 array, without a library."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = b"".join(b"\0" + row.tobytes() for row in tones)
    header = struct.pack(">IIBBBBB", tones.shape[1], tones.shape[0], 8, 0, 0, 0, 0)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b""))


def moments_meanwhile(work):
    """How often another thread of the interpreter gets to run while `work` does; it asks every 2 ms."""
    ticks, done = [], threading.Event()

    def tick():
        while not done.is_set():
            ticks.append(time.perf_counter())
            time.sleep(0.002)

    thread = threading.Thread(target=tick)
    thread.start()
    start = time.perf_counter()
    work()
    end = time.perf_counter()
    done.set()
    thread.join()
    return sum(start < t < end for t in ticks)


@pytest.fixture(scope="session")
def build():
    """The build folder that is under test."""
    return pathlib.Path(os.environ["CIRCUMFLUENCE_BUILD"])


@pytest.fixture()
def folder(tmp_path):
    """A folder with a picture: a black bar and a black square on white."""
    tones = np.full((60, 80), 255, np.uint8)
    tones[10:20, 10:70] = 0
    tones[30:50, 30:50] = 0
    write_png(tmp_path / "art.png", tones)
    return tmp_path


@pytest.fixture()
def job(folder):
    """A small part of the demo bottle."""
    text = (ROOT / "sim/demo/finisher_bottle.toml").read_text()
    text = text.replace("finisher_art.png", "art.png").replace('"96 mm"', '"8 mm"')
    (folder / "small.toml").write_text(text)
    return cf.read_job(folder / "small.toml")


@pytest.fixture()
def mark_file(job, tmp_path):
    path = tmp_path / "small.mark.h5"
    cf.predict(job, file=path)
    return path
