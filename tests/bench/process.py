"""Whole processes: cold start to the first reply, and peak memory."""

import json
import resource
import statistics
import subprocess
import sys
import time

LINE = json.dumps({"id": "1", "who": "crew", "text": "whats the cut for a 90 flat corner"}) + "\n"


def cold_start(times: int = 5) -> tuple[float, float]:
    """Median seconds from starting ``sitebot read`` to its first reply, and of a bare Python start."""
    ours = statistics.median(_timed([sys.executable, "-m", "sitebot", "read"], LINE) for _ in range(times))
    bare = statistics.median(_timed([sys.executable, "-c", "pass"], "") for _ in range(times))
    return ours, bare


def _timed(command: list[str], feed: str) -> float:
    began = time.perf_counter()
    subprocess.run(command, input=feed, text=True, capture_output=True, check=True)
    return time.perf_counter() - began


def peak_memory_mb() -> float:
    """Peak memory of this process so far, or of the largest child [MB]."""
    who = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return max(resource.getrusage(w).ru_maxrss for w in who) / 1024
