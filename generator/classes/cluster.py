"""Jobs done by the machines of a cluster, by way of dask.distributed.

Whoever is let into such a cluster can run programs on all of its machines, and reads
what they do: class secrets and answer keys. So machines show each other certificates
of one authority, and talk in TLS.
"""

from __future__ import annotations

import logging
import time
from concurrent.futures import CancelledError
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from uuid import uuid4

from distributed import Client, Future, Security
from distributed.comm import CommClosedError
from distributed.scheduler import KilledWorker

from generator.classes.jobs import Answer, Hear, Job, broken, perform
from generator.classes.keys import Pair
from generator.errors import ClusterError
from workbook.version import __version__

PATIENCE_S = 300.0
"""How long a scheduler may be away before the work is given up [s]."""

_FIRST_S = 20.0  # at the beginning somebody waits for it
_COUNTED_S = 5.0  # workers come and go, and asking each time would slow all down
_LOOK_S = 0.2
# To fetch what is done: far more than a class needs, also where a worker was lost with
# it and another one has to do it again.
_FETCH_S = 900.0
# What they say is said here once more, in a sentence.
_LOUD = ("distributed", "distributed.client")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a cluster is.

    Attributes
    ----------
    address : str
        Of the scheduler, ``tls://host:port``, or ``tcp://`` without a pair.
    pair : Pair or None
        What shows that this machine belongs to it; None is no encryption at all.
    """

    address: str
    pair: Pair | None


class Cluster:
    """A cluster that does jobs, as many as it has threads and some that wait.

    Parameters
    ----------
    hear : callable
        Takes each answer, in another thread.
    patience_s : float
        How long the scheduler may be away [s].

    Raises
    ------
    ClusterError
        Where no scheduler answers, or has no worker.
    """

    def __init__(
        self, place: Place, hear: Hear, patience_s: float = PATIENCE_S
    ) -> None:
        for name in _LOUD:
            logging.getLogger(name).setLevel(logging.CRITICAL)
        self._place, self._hear, self._patience_s = place, hear, patience_s
        # A future is forgotten, and with it its result, once nobody holds it.
        self._under_way: dict[str, Future] = {}
        self._counted_at, self._threads = 0.0, 1
        self._client = self._connected()

    def _connected(self) -> Client:
        address = self._place.address
        try:
            client = Client(
                address,
                security=_security(self._place.pair),
                timeout=_FIRST_S,
                set_as_default=False,
            )
        except (OSError, ValueError) as error:
            why = " ".join(str(error).split())[:200]
            raise ClusterError(
                f"{address}: no scheduler of this cluster answers ({why}); start it, "
                "mend the address, or take the certificates that belong to it"
            ) from error
        # What it waits when the connection is lost later on.
        client._timeout = self._patience_s
        try:
            client.wait_for_workers(1, timeout=_FIRST_S)
        except TimeoutError as error:
            client.close()
            raise ClusterError(
                f"{address}: the scheduler has no worker; start one on each machine "
                "that is to work"
            ) from error
        return client

    @property
    def room(self) -> int:
        """How many more jobs are taken now: one waits for each thread."""
        is_old = time.monotonic() - self._counted_at > _COUNTED_S
        if is_old and self._client.status == "running":
            with suppress(OSError, ValueError):
                self._threads = sum(self._client.nthreads().values())
            self._counted_at = time.monotonic()
        return 2 * max(1, self._threads) - len(self._under_way)

    def start(self, job: Job) -> None:
        """Take a job; where the scheduler is away, as soon as it is back.

        Raises
        ------
        ClusterError
            Where it does not come back.
        """
        if self._client.status != "running":
            self.mend()
        # Names of classes are nobody's business on a scheduler's page.
        key = f"{job.work}-{uuid4().hex}"
        future = self._client.submit(
            perform, job.work, job.given, __version__, key=key, pure=False
        )
        self._under_way[key] = future
        future.add_done_callback(partial(self._done, job))

    def _done(self, job: Job, future: Future) -> None:
        answer = _answer(job, future)
        self._under_way.pop(future.key, None)
        self._hear(answer)

    def mend(self) -> bool:
        """Wait until the scheduler is there again; lost jobs are all innocent.

        Raises
        ------
        ClusterError
            Where it does not come back.
        """
        while self._client.status == "connecting":
            time.sleep(_LOOK_S)
        if self._client.status != "running":
            raise ClusterError(
                f"{self._place.address}: the scheduler has been away for "
                f"{self._patience_s:g} s; start it, and run this again: what is "
                "written stays"
            )
        return True

    def close(self) -> None:
        """Leave the cluster, which forgets what it was at for this machine."""
        self._client.close(timeout=_FIRST_S)


def _security(pair: Pair | None) -> Security:
    if pair is None:
        return Security(require_encryption=False)
    return Security(
        require_encryption=True,
        tls_ca_file=str(pair.authority),
        tls_client_cert=str(pair.certificate),
        tls_client_key=str(pair.key),
    )


def _answer(job: Job, future: Future) -> Answer:
    try:
        result = future.result(timeout=_FETCH_S)
    except KilledWorker as error:
        tries = error.allowed_failures + 1
        told = f"{tries} workers were ended at it, as when memory runs out"
        return Answer(job=job, fault=told)
    except TimeoutError:
        told = "what a worker has done cannot be fetched; let the scheduler reach it"
        return Answer(job=job, fault=told)
    except (CancelledError, CommClosedError):
        return Answer(job=job, is_lost=True)
    except Exception as error:
        return broken(job, error)
    return Answer(job=job, data=result[0], fault=result[1])
