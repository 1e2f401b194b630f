"""The answers of `simulate`: predicted, never measured. A gap in a list always has its reason beside it."""

from __future__ import annotations

from dataclasses import field

from aerode.quantities import Basis
from aerode.records.figures import Figure
from aerode.records.marks import record
from aerode.records.results import Estimate

__all__ = [
    "BandAt",
    "CathodeProfile",
    "CathodeSimulation",
    "CellSimulation",
    "DischargeSimulation",
    "InputBand",
    "InputRank",
    "LossParts",
    "PorousFit",
    "PriorPosterior",
    "Simulation",
    "SweepPoint",
]

Numbers = tuple[float | None, ...]


@record
class LossParts:
    """The parts of the cathode loss at each current [V]; they add up to the whole."""

    ionic: Numbers
    electronic: Numbers
    kinetic: Numbers
    oxygen: Numbers


@record
class CathodeProfile:
    """The inside of a cathode at one current, from the air face inwards; `reason` says what is not shown."""

    current_density_A_m2: float
    depth_m: tuple[float, ...]
    local_rate_A_m3: tuple[float, ...]
    overpotential_V: tuple[float, ...]
    ionic_current_A_m2: tuple[float, ...]
    electronic_current_A_m2: tuple[float, ...]
    oxygen_mol_m3: tuple[float, ...]
    dissolved_oxygen_mol_m3: tuple[float, ...]
    reason: str | None = None


@record
class BandAt:
    """What many draws of the inputs give at one current: median and 95 % band of the cathode loss."""

    current_density_A_m2: float
    median_V: float | None
    low_V: float | None
    high_V: float | None
    carried: float
    """Share of the draws that can carry this current at all."""
    reason: str | None = None


@record
class CathodeSimulation:
    """A porous cathode from numbers: lists of one length; where a number is None, `reasons` says why.

    `overpotential_V` is that of the electrolyte face; `cathode_loss_V` is from the collector to that
    face, which the four parts of `loss_V` add up to.
    """

    schema: str = "aerode.simulate-cathode/1"
    headline: str
    current_density_A_m2: Numbers
    overpotential_V: Numbers
    loss_V: LossParts
    cathode_loss_V: Numbers
    error_estimate_V: Numbers
    reasons: tuple[str | None, ...]
    limiting_current_A_m2: float | None
    """None where nothing limits the oxygen."""
    profile: tuple[CathodeProfile, ...] = ()
    bands: tuple[BandAt, ...] = ()
    draws: int = 0
    band_resolution_V: float | None = None
    """Largest error of the ends of a band that comes from counting in steps [V]."""
    inputs: dict[str, float | str] = field(default_factory=dict[str, float | str])
    basis: Basis = Basis.PREDICTED
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()


@record
class CellSimulation:
    """A whole cell from numbers: voltage, its parts and its power at each current density."""

    schema: str = "aerode.simulate-cell/1"
    headline: str
    current_density_A_m2: Numbers
    voltage_V: Numbers
    power_density_W_m2: Numbers
    cathode_potential_V: Numbers
    anode_potential_V: Numbers
    gap_V: Numbers
    contacts_V: Numbers
    product_V: Numbers
    corrosion_A_m2: Numbers
    """Hydrogen-equivalent corrosion beside the current, per anode area."""
    reasons: tuple[str | None, ...]
    greatest_power_W_m2: float | None
    greatest_power_at_A_m2: float | None
    greatest_power_at_V: float | None
    basis: Basis = Basis.PREDICTED
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()


@record
class DischargeSimulation:
    """A cell over hours and days, at each time; all lists have one length, amounts for the whole cell."""

    schema: str = "aerode.simulate-discharge/1"
    headline: str
    end: str
    """Why it ended, in words."""
    time_s: tuple[float, ...]
    current_A: tuple[float, ...]
    voltage_V: tuple[float, ...]
    corrosion_A: tuple[float, ...]
    temperature_K: tuple[float, ...]
    conductivity_S_m: tuple[float, ...]
    volume_m3: tuple[float, ...]
    solids_share: tuple[float, ...]
    aluminium_mol: tuple[float, ...]
    water_mol: tuple[float, ...]
    hydroxide_mol: tuple[float, ...]
    aluminate_mol: tuple[float, ...]
    carbonate_mol: tuple[float, ...]
    peroxide_mol: tuple[float, ...]
    solid_mol: tuple[float, ...]
    oxygen_taken_mol: tuple[float, ...]
    hydrogen_made_mol: tuple[float, ...]
    water_evaporated_mol: tuple[float, ...]
    charge_C: tuple[float, ...]
    energy_J: tuple[float, ...]
    heat_J: tuple[float, ...]
    mass_change_kg: tuple[float, ...]
    faradaic_efficiency: float
    aluminium_used: float
    worst_balance: float
    """What does not close of atoms, mass, ions and charge, over what has passed."""
    basis: Basis = Basis.PREDICTED
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()


@record
class InputBand:
    """One input of the model: the span it was drawn from, and what that span rests on."""

    name: str
    unit: str
    low: float
    high: float
    """Where 95 % of the draws lie."""
    middle: float
    basis: Basis
    source: str


@record
class InputRank:
    """How much one input moves the answer: Morris' mean of absolute steps, Sobol's total share."""

    name: str
    steps_V: float
    """Mean absolute change of the loss for a step through half of the input's span [V]."""
    first_share: float
    total_share: float
    total_share_uncertainty: float


@record
class SweepPoint:
    """One setting of what is varied: the change against the state as it is, on the same draws."""

    setting: float
    text: str
    change_V: Estimate
    """Of the cathode loss at the asked current; below zero is a gain."""
    ratio: Estimate
    """Current at the same cathode loss, after over before."""
    carried: float
    """Share of the draws that can carry the current."""
    helps: float
    """Share of the draws in which it lowers the loss."""


@record
class Simulation:
    """What a change to an electrode or mix of the bench would do, with its band. All of it predicted."""

    schema: str = "aerode.simulate/1"
    headline: str
    item: str
    kind: str
    """ "electrode" or "mix"."""
    change: str
    understood: tuple[str, ...]
    """How each change was read."""
    current_density_mA_cm2: float
    loss_before_V: Estimate
    loss_after_V: Estimate
    change_V: Estimate
    ratio: Estimate
    helps: float
    carried_before: float
    carried_after: float
    losses_before_V: dict[str, float]
    """Where the voltage goes on the draws in the middle, so that the parts add up: ionic, electronic, kinetic, oxygen."""
    losses_after_V: dict[str, float]
    sweep: tuple[SweepPoint, ...] = ()
    ranking: tuple[InputRank, ...] = ()
    ranking_note: str = ""
    inputs: tuple[InputBand, ...] = ()
    calibrated_by: str = ""
    """The run the model was fitted to beforehand; "" where there is none."""
    draws: int
    seed: int
    basis: Basis = Basis.PREDICTED
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()


@record
class PriorPosterior:
    """One parameter before and after the readings; `value` is withheld where it kept its prior."""

    name: str
    estimate: Estimate
    prior_95: tuple[float, float]
    posterior_95: tuple[float, float]
    width_ratio: float
    """Width after the readings over width before, both in the logarithm where the prior is."""
    kept_prior: bool


@record
class PorousFit:
    """The porous cathode fitted to one run, beside the plain curve, and which of them predicts better."""

    schema: str = "aerode.porous-fit/1"
    headline: str
    source: str
    electrode: str = ""
    parameters: tuple[PriorPosterior, ...]
    losses_V: dict[str, Estimate]
    losses_at_mA_cm2: float
    score_porous: float
    """Sum over the readings of the log probability of each, foretold from all others [ln 1/V]."""
    score_curve: float
    score_difference: float
    """Porous less curve; above zero the porous model foretells better."""
    score_difference_uncertainty: float
    chosen: str
    """ "curve", "porous" or "neither is shown better"."""
    effective_sample_size: float
    reason: str | None = None
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
