"""Blocks of draws on a cluster: the same blocks, only somewhere else."""

import asyncio
from collections.abc import Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager
from typing import Any

from bankSim.study.blocks import Workers
from bankSim.study.plan import march_block
from bankSim.study.sources import program_digest
from bankSim.study.store import StudyError

CONNECT_S = 10.0
UNPACKED = "values to unpack"


@contextmanager
def cluster(address: str) -> Iterator[Workers]:
    """Provide the workers of a Dask cluster.

    Each worker needs this program, of the same version. A block whose worker is lost goes to
    another one; it is kept once, since its number is its place.

    Parameters
    ----------
    address : str
        Of its scheduler, such as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    StudyError
        When the extra is not installed, or nobody answers there.
    """
    try:
        from distributed import Client as Dask
        from distributed import KilledWorker
    except ImportError as error:
        raise StudyError(
            "--cluster needs the extra `cluster`: pip install 'banksim[cluster]'"
        ) from error
    make: Any = Dask
    try:
        asyncio.run(_answers(address))
        client = make(address, timeout=CONNECT_S)
    except (OSError, ValueError, TypeError, AssertionError) as error:  # as odd addresses raise
        raise StudyError(
            f"--cluster {address!r}: no scheduler answers there; expected its address, such as "
            "tcp://10.0.0.5:8786"
        ) from error
    try:
        count = sum(client.nthreads().values())
        if count == 0:
            raise StudyError(f"--cluster {address!r}: the scheduler has no workers")
        others = {one for one in client.run(program_digest).values() if one != program_digest()}
        if others:
            raise StudyError(
                f"--cluster {address!r}: workers have another version of this program; expected "
                "the same everywhere"
            )
        yield Workers(client.get_executor(pure=False), count, march_block)
    except (CancelledError, ValueError) as error:
        # cancelled just as its error is asked for, a future says that it cannot be unpacked
        if isinstance(error, ValueError) and UNPACKED not in str(error):
            raise
        raise StudyError(
            f"--cluster {address!r}: the scheduler went away; finished draws are kept: run the "
            "same command again"
        ) from error
    except KilledWorker as error:
        raise StudyError(
            f"--cluster {address!r}: workers were lost again and again with the same block of "
            "draws; finished ones are kept: run the same command again"
        ) from error
    finally:
        client.close()


async def _answers(address: str) -> None:
    # before a client is made: one that never came to be may keep this program from ending
    from distributed.comm import core
    from distributed.security import Security

    asked: Any = core.connect
    kept: Any = Security  # as the cluster's own settings say, if they do
    more = kept().get_connection_args("client")
    (await asyncio.wait_for(asked(address, CONNECT_S, **more), CONNECT_S)).abort()
