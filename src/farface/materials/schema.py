"""Say what a material's TOML file may hold; every other key is refused by name."""

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from farface.kernel import UNITS
from farface.materials.dispersion import FORMULAS
from farface.materials.viscosity import ZERO_CELSIUS_K

Positive = Annotated[float, Field(gt=0.0)]
NotNegative = Annotated[float, Field(ge=0.0)]
# Files say wavelengths in um and temperatures in degrees Celsius, as the sources do; records hold SI.
FromUm = Annotated[Positive, AfterValidator(lambda um: um * UNITS["m"]["um"])]
FromCelsius = Annotated[float, AfterValidator(lambda celsius: celsius + ZERO_CELSIUS_K)]
Range = tuple[FromUm, FromUm]


class Part(BaseModel):
    """Refuse keys that no part of a file has, and numbers that are not finite."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Value(Part):
    """Read one number: its unit stands in its key, ``holds`` says under which conditions it holds."""

    value: Positive
    sd: NotNegative = 0.0
    holds: str = ""
    source: str


class Absorbing(Value):
    """Read a decadic molar absorption with the wavelengths between which it holds; zero is allowed."""

    value: NotNegative
    range_m: Range = Field(alias="range_um")


class Index(Part):
    """Read a dispersion formula with its coefficients."""

    formula: str
    coefficients: tuple[float, ...]
    range_m: Range = Field(alias="range_um")
    sd: NotNegative = 0.0
    holds: str = ""
    source: str

    @model_validator(mode="after")
    def _known_formula(self) -> "Index":
        if self.formula not in FORMULAS:
            raise ValueError(f'formula "{self.formula}" is none of {", ".join(FORMULAS)}')
        if len(self.coefficients) % 2 == 0:
            raise ValueError("coefficients are one constant and then pairs, so their number must be odd")
        return self


class Absorption(Part):
    """Read a table of natural absorption coefficients."""

    wavelengths_m: tuple[FromUm, ...] = Field(alias="wavelength_um")
    absorptions_per_m: tuple[NotNegative, ...] = Field(alias="absorption_per_m")
    sd_share: NotNegative = 0.0
    holds: str = ""
    source: str


class Melt(Part):
    """Read the curve log10(eta / Pa s) = a + b / (T - T0) with T and T0 in degrees Celsius."""

    a_log10_pa_s: float
    b_k: Positive
    t0_k: FromCelsius = Field(alias="t0_celsius")
    source: str


class Check(Part):
    """Read one check value: a quantity, where to ask for it, and the number as its source prints it.

    The tolerance is half the last printed digit unless ``within_share`` widens it; ``why`` says the reason.
    """

    quantity: str
    wavelength_m: FromUm | None = Field(default=None, alias="wavelength_um")
    form: str | None = None
    printed: str
    within_share: Positive | None = None
    why: str = ""
    source: str


class SubstanceFile(Part):
    """Read what glasses and liquids have in common."""

    title: str
    density_kg_per_m3: Value
    heat_capacity_j_per_kg_k: Value
    conductivity_w_per_m_k: Value
    index: Index
    absorption: Absorption
    checks: tuple[Check, ...] = Field(min_length=3)


class GlassFile(SubstanceFile):
    """Read the file of one glass."""

    kind: Literal["glass"]
    young_pa: Value
    poisson: Value
    expansion_per_k: Value
    strength_pa: Value
    toughness_pa_sqrt_m: Value
    softening_k: Value
    viscosity: Melt | None = None


class LiquidFile(SubstanceFile):
    """Read the file of one liquid."""

    kind: Literal["liquid"]
    viscosity_pa_s: Value
    surface_tension_n_per_m: Value
    sound_speed_m_per_s: Value
    vapour_pressure_pa: Value
    saturation_k: Value
    superheat_limit_k: Value
    latent_j_per_kg: Value


class AbsorberFile(Part):
    """Read the file of one solute; ``molar_mass_kg_per_mol`` has one entry a form that can be weighed."""

    kind: Literal["absorber"]
    title: str
    molar_mass_kg_per_mol: dict[str, Value]
    molar_absorption_m2_per_mol: Absorbing
    solubility_mol_per_m3: Value
    checks: tuple[Check, ...] = Field(min_length=3)
