"""The bench that benchmarks run on: the demo's rig and bath (invented data)."""

from importlib.resources import as_file, files

from farface.etch.bench import etch_bench
from farface.files.bath_file import read_bath
from farface.files.rig_file import read_rig
from farface.records import Bath, Rig, Setting


def _demo_files() -> tuple[Rig, Bath]:
    with as_file(files("farface.app").joinpath("demo_files")) as folder:
        return read_rig(folder / "rig.toml"), read_bath(folder / "bath.toml")


RIG, BATH = _demo_files()
BENCH = etch_bench(RIG, BATH)
SETTING = Setting(pulse_energy_j=3e-4, rate_hz=40e3, pulses_per_point=8, pitch_m=18e-6, passes=20)
