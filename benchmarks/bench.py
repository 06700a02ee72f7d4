"""The bench that benchmarks run on: the demo's rig and bath (invented data)."""

from importlib.resources import as_file, files

from farface.etch.bench import EtchBench, etch_bench
from farface.files.bath_file import read_bath
from farface.files.rig_file import read_rig
from farface.records import Setting


def _demo_bench() -> EtchBench:
    with as_file(files("farface.app").joinpath("demo_files")) as folder:
        return etch_bench(read_rig(folder / "rig.toml"), read_bath(folder / "bath.toml"))


BENCH = _demo_bench()
SETTING = Setting(pulse_energy_j=3e-4, rate_hz=40e3, pulses_per_point=8, pitch_m=18e-6, passes=20)
