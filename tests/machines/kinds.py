"""Kinds of machine that this processor can play: OpenBLAS and numpy hold code for many, and pick it by variables.

OpenBLAS takes the code that `OPENBLAS_CORETYPE` names, and crashes when the processor cannot run it; numpy leaves out
what `NPY_DISABLE_CPU_FEATURES` names, glibc what `GLIBC_TUNABLES` does. Where numpy comes with another library than
OpenBLAS its variable is read by nobody, and the runs differ in all the rest.
"""

from __future__ import annotations

import os
import platform
import shutil
import subprocess
from pathlib import Path

from numpy._core._multiarray_umath import __cpu_features__ as features  # type: ignore[import-untyped, unused-ignore]

NEEDS = {
    "x86_64": {
        "Prescott": "SSE3",
        "Nehalem": "SSE42",
        "Haswell": "FMA3",
        "Zen": "FMA3",
        "SkylakeX": "AVX512_SKX",
    },
    "aarch64": {"ARMV8": "NEON", "NEOVERSEN1": "ASIMD"},
}
"""What of a processor each kernel needs, in numpy's words."""
WIDE = ("AVX512F", "AVX512CD", "AVX512_SKX", "AVX512_CLX", "AVX512_CNL", "AVX512_ICL", "AVX512_SPR", "X86_V4")
FUSED = ("AVX2", "FMA3", "X86_V3")
PLAIN_GLIBC = "glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4"
TURKISH = "tr_TR.UTF-8"
"""A decimal comma, points between thousands, and an i that has no dot when it is made small."""
SETTINGS = (
    {"OPENBLAS_NUM_THREADS": "1", "LC_ALL": "C", "PYTHONHASHSEED": "0"},
    {"OPENBLAS_NUM_THREADS": "2", "LC_ALL": TURKISH, "PYTHONHASHSEED": "1"},
    {"OPENBLAS_NUM_THREADS": "2", "LC_ALL": "C", "PYTHONHASHSEED": "20177", "GLIBC_TUNABLES": PLAIN_GLIBC},
    {"OPENBLAS_NUM_THREADS": "1", "LC_ALL": "C.UTF-8", "PYTHONHASHSEED": "4"},
)
VARIABLES = {"OPENBLAS_CORETYPE", "NPY_DISABLE_CPU_FEATURES", *(name for one in SETTINGS for name in one)}


def with_turkish(folder: Path) -> dict[str, str]:
    """What has to be in an environment for the Turkish locale to be found: it is made in the folder.

    A name that the system does not have would be taken for C in silence. Empty where it cannot be made (Debian: package
    locales).
    """
    if shutil.which("localedef") is None:
        return {}
    made = folder / TURKISH
    command = ["localedef", "-c", "-i", "tr_TR", "-f", "UTF-8", str(made)]
    subprocess.run(command, capture_output=True, check=False)
    # a folder of its own that has C.UTF-8 no longer is no matter: Python has that by itself
    return {"LOCPATH": str(folder)} if made.exists() else {}


def kernels() -> tuple[str, ...]:
    """The kernels of OpenBLAS that can run here, from the plainest to the widest."""
    machine = {"AMD64": "x86_64", "arm64": "aarch64"}.get(platform.machine(), platform.machine())
    return tuple(name for name, need in NEEDS.get(machine, {}).items() if features.get(need))


def environments() -> list[dict[str, str]]:
    """One environment a kernel (or three without), so that every value of every setting is met at least once.

    Nehalem is left out: it lies between its neighbours, and each environment costs a run of everything.
    """
    found: list[dict[str, str]] = []
    names = tuple(name for name in kernels() if name != "Nehalem") or ("",)
    for k in range(max(len(names), 3)):
        own = {name: value for name, value in os.environ.items() if name not in VARIABLES}
        own |= SETTINGS[k % len(SETTINGS)]
        if k < len(names) and names[k]:
            own["OPENBLAS_CORETYPE"] = names[k]
        without = [name for name in (*WIDE, *(FUSED if k % 2 else ())) if features.get(name)]
        if k < 3 and without:
            own["NPY_DISABLE_CPU_FEATURES"] = " ".join(without)
        found.append(own)
    return found


if __name__ == "__main__":
    print(*kernels())
