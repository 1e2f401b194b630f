"""What is taken of a cell's liquid and of a layer where nobody entered it: bands and figures with what each rests on.

Every use is said aloud in the answer.
"""

from __future__ import annotations

from aerode.physics.discharge import AtomicMasses, Electrolyte, IonConductivities, MolarVolumes
from aerode.reference import molar_mass

__all__ = ["atomic_masses", "ions_said", "usual_ions", "usual_volumes", "volumes_said"]

# Limiting molar conductivities at 25 °C in S·m²/mol, from tabulated diffusivities of the ions (any
# handbook; read there as K 73.5, Na 50.1, OH 198, Cl 76.3, half carbonate 69 S·cm²/mol). Aluminate 45
# and peroxide 60 are from memory, unverified. Only their ratios are used.
_POTASSIUM, _SODIUM, _HYDROXIDE, _CHLORIDE = (
    73.5e-4,
    50.1e-4,
    198e-4,
    76.3e-4,
)  # see above, from memory
_CARBONATE, _ALUMINATE, _PEROXIDE = 138e-4, 45e-4, 60e-4  # from memory
_PER_KELVIN = 0.02  # from memory: 2 % a kelvin for most salts
# Apparent volumes per mol in strong solutions [m³/mol]; from memory, unverified, round.
_VOLUMES = (18.07e-6, 12e-6, 20e-6, 55e-6, 25e-6)  # from memory
_SOLID = 32e-6  # from memory: gibbsite, 78.0 g/mol over 2.42 g/cm³
_CARBON = 12.011e-3  # from memory: standard atomic weight, rounded [kg/mol]
_GEL = 8.0  # from memory: 5 to 20 times the dry solid has been seen
ions_said = "ions: limiting molar conductivities at 25 degC, of which only the ratios are used (aluminate from memory)"
volumes_said = "volumes of salts and gel (8 times its dry solid) from memory, unverified: enter [volumes] to replace them"


def usual_ions(electrolyte: Electrolyte) -> IonConductivities:
    """Ion conductivities where none were entered.

    Parameters
    ----------
    electrolyte : Electrolyte
        Lye is taken as potassium, brine as sodium.

    Returns
    -------
    IonConductivities [S m^2/mol]
    """
    lye = electrolyte is Electrolyte.LYE
    return IonConductivities(
        cation=_POTASSIUM if lye else _SODIUM,
        hydroxide=_HYDROXIDE,
        chloride=_CHLORIDE,
        aluminate=_ALUMINATE,
        carbonate=_CARBONATE,
        peroxide=_PEROXIDE,
        temperature_coefficient=_PER_KELVIN,
    )


def usual_volumes() -> MolarVolumes:
    """Molar volumes where none were entered.

    Returns
    -------
    MolarVolumes [m^3/mol]
    """
    water, hydroxide, chloride, aluminate, carbonate = _VOLUMES
    return MolarVolumes(
        water=water,
        hydroxide=hydroxide,
        chloride=chloride,
        aluminate=aluminate,
        carbonate=carbonate,
        solid=_SOLID,
        gel_over_solid=_GEL,
    )


def atomic_masses() -> AtomicMasses:
    """The atomic masses of what moves, from the table of substances.

    Returns
    -------
    AtomicMasses [kg/mol]
    """
    return AtomicMasses(
        aluminium=molar_mass("aluminium"),
        oxygen=molar_mass("oxygen") / 2.0,
        hydrogen=molar_mass("hydrogen") / 2.0,
        carbon=_CARBON,
    )
