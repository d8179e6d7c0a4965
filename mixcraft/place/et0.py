"""Reference evapotranspiration of FAO-56: Penman-Monteith with its input chain, and Hargreaves.

All functions are vectorised and take and return floats or arrays that broadcast.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from mixcraft.place._constants import constant
from mixcraft.place.model import FloatArray


def _f(values: npt.ArrayLike) -> FloatArray:
    return np.asarray(values, dtype=np.float64)


def atmospheric_pressure(elevation_m: npt.ArrayLike) -> FloatArray:
    """Atmospheric pressure P [kPa] at an elevation [m] (FAO-56 Eq. 7)."""
    t0, lapse = constant("pressure_t0"), constant("pressure_lapse")
    ratio = (t0 - lapse * _f(elevation_m)) / t0
    return np.asarray(constant("pressure_sea_level") * ratio ** constant("pressure_exponent"))


def psychrometric_constant(pressure_kpa: npt.ArrayLike) -> FloatArray:
    """Psychrometric constant [kPa/C] from pressure [kPa] (FAO-56 Eq. 8)."""
    return np.asarray(constant("psychrometric_factor") * _f(pressure_kpa))


def saturation_vapour_pressure(temperature_c: npt.ArrayLike) -> FloatArray:
    """Saturation vapour pressure e0(T) [kPa] at a temperature [C] (FAO-56 Eq. 11)."""
    t = _f(temperature_c)
    return np.asarray(constant("vapour_e0") * np.exp(constant("vapour_slope") * t / (t + constant("vapour_t0"))))


def mean_saturation_vapour_pressure(tmax_c: npt.ArrayLike, tmin_c: npt.ArrayLike) -> FloatArray:
    """Mean saturation vapour pressure of the day es [kPa] (FAO-56 Eq. 12)."""
    return np.asarray((saturation_vapour_pressure(tmax_c) + saturation_vapour_pressure(tmin_c)) / 2)


def slope_vapour_pressure(temperature_c: npt.ArrayLike) -> FloatArray:
    """Slope of the saturation vapour pressure curve [kPa/C] at a temperature [C] (FAO-56 Eq. 13)."""
    t = _f(temperature_c)
    return np.asarray(constant("slope_factor") * saturation_vapour_pressure(t) / (t + constant("vapour_t0")) ** 2)


def vapour_pressure_from_humidity(
    tmax_c: npt.ArrayLike, tmin_c: npt.ArrayLike, rh_max_pct: npt.ArrayLike, rh_min_pct: npt.ArrayLike
) -> FloatArray:
    """Actual vapour pressure ea [kPa] from maximum and minimum relative humidity [%] (FAO-56 Eq. 17)."""
    return np.asarray(
        (saturation_vapour_pressure(tmin_c) * _f(rh_max_pct) + saturation_vapour_pressure(tmax_c) * _f(rh_min_pct)) / 200.0
    )


def vapour_pressure_from_mean_humidity(tmax_c: npt.ArrayLike, tmin_c: npt.ArrayLike, rh_mean_pct: npt.ArrayLike) -> FloatArray:
    """Actual vapour pressure ea [kPa] from mean relative humidity [%] (FAO-56 Eq. 19)."""
    return np.asarray(_f(rh_mean_pct) / 100.0 * mean_saturation_vapour_pressure(tmax_c, tmin_c))


def vapour_pressure_from_tmin(tmin_c: npt.ArrayLike, depression_c: npt.ArrayLike = 0.0) -> FloatArray:
    """Actual vapour pressure ea [kPa] with the dew point at ``tmin_c - depression_c`` [C] (FAO-56 Eq. 48)."""
    return saturation_vapour_pressure(_f(tmin_c) - _f(depression_c))


def dew_point(vapour_pressure_kpa: npt.ArrayLike) -> FloatArray:
    """Dew point [C] of a vapour pressure [kPa], the inverse of FAO-56 Eq. 11."""
    ratio = np.log(_f(vapour_pressure_kpa) / constant("vapour_e0"))
    return np.asarray(constant("vapour_t0") * ratio / (constant("vapour_slope") - ratio))


def wind_at_2m(wind_m_s: npt.ArrayLike, height_m: npt.ArrayLike = 10.0) -> FloatArray:
    """Wind speed at 2 m [m/s] from a measurement at another height [m] over short grass (FAO-56 Eq. 47)."""
    profile = np.log(constant("wind_log_b") * _f(height_m) - constant("wind_log_c"))
    return np.asarray(_f(wind_m_s) * constant("wind_log_a") / profile)


def net_shortwave_radiation(rs: npt.ArrayLike, albedo: float | None = None) -> FloatArray:
    """Net shortwave radiation Rns [MJ/(m2 d)] (FAO-56 Eq. 38); ``albedo`` defaults to grass, 0.23."""
    share = constant("albedo_reference") if albedo is None else albedo
    return np.asarray((1 - share) * _f(rs))


def net_longwave_radiation(
    tmax_c: npt.ArrayLike, tmin_c: npt.ArrayLike, ea_kpa: npt.ArrayLike, rs: npt.ArrayLike, rso: npt.ArrayLike
) -> FloatArray:
    """Net outgoing longwave radiation Rnl [MJ/(m2 d)] (FAO-56 Eq. 39).

    ``rs``, ``rso`` [MJ/(m2 d)]; their ratio is held between 0.3 and 1. In polar night (Rso = 0) it is taken
    as 1.
    """
    kelvin = constant("kelvin_offset")
    emitted = constant("stefan_boltzmann_day") * ((_f(tmax_c) + kelvin) ** 4 + (_f(tmin_c) + kelvin) ** 4) / 2
    vapour = constant("longwave_vapour_a") + constant("longwave_vapour_b") * np.sqrt(_f(ea_kpa))
    below, clear = np.broadcast_arrays(_f(rs), _f(rso))
    relative = np.divide(below, clear, out=np.ones(below.shape), where=clear > 0)
    relative = np.clip(relative, constant("relative_shortwave_min"), 1.0)
    cloud = constant("longwave_cloud_a") * relative + constant("longwave_cloud_b")
    return np.asarray(emitted * vapour * cloud)


def net_radiation(rns: npt.ArrayLike, rnl: npt.ArrayLike) -> FloatArray:
    """Net radiation Rn [MJ/(m2 d)] (FAO-56 Eq. 40)."""
    return np.asarray(_f(rns) - _f(rnl))


def monthly_soil_heat_flux(previous_month_c: npt.ArrayLike, next_month_c: npt.ArrayLike) -> FloatArray:
    """Soil heat flux of a month G [MJ/(m2 d)] from the mean temperatures [C] around it (FAO-56 Eq. 43)."""
    return np.asarray(constant("soil_heat_month") * (_f(next_month_c) - _f(previous_month_c)))


def penman_monteith(
    tmean_c: npt.ArrayLike,
    wind_2m: npt.ArrayLike,
    es_kpa: npt.ArrayLike,
    ea_kpa: npt.ArrayLike,
    rn: npt.ArrayLike,
    g: npt.ArrayLike,
    pressure_kpa: npt.ArrayLike,
) -> FloatArray:
    """The FAO Penman-Monteith equation itself [mm/d] (FAO-56 Eq. 6); radiation terms in MJ/(m2 d).

    Negative results (long winter nights) are kept; :func:`et0_penman_monteith` cuts them off at 0.
    """
    t, wind = _f(tmean_c), _f(wind_2m)
    slope, gamma = slope_vapour_pressure(t), psychrometric_constant(pressure_kpa)
    radiation = constant("pm_radiation") * slope * (_f(rn) - _f(g))
    drying = constant("pm_aero") / (t + constant("pm_aero_t")) * gamma * wind * (_f(es_kpa) - _f(ea_kpa))
    return np.asarray((radiation + drying) / (slope + gamma * (1 + constant("pm_wind") * wind)))


def et0_penman_monteith(
    tmax_c: npt.ArrayLike,
    tmin_c: npt.ArrayLike,
    rs: npt.ArrayLike,
    ra: npt.ArrayLike,
    elevation_m: npt.ArrayLike,
    *,
    ea_kpa: npt.ArrayLike | None = None,
    wind_2m: npt.ArrayLike | None = None,
    g: npt.ArrayLike = 0.0,
) -> FloatArray:
    """Daily reference evapotranspiration ET0 [mm/d], FAO-56 Penman-Monteith (Eqs 6-13, 37-40).

    ``tmax_c``, ``tmin_c`` [C]; ``rs`` solar and ``ra`` extraterrestrial radiation [MJ/(m2 d)];
    ``elevation_m`` [m];
    ``ea_kpa`` actual vapour pressure [kPa], by default that of a dew point at tmin (Eq. 48);
    ``wind_2m`` [m/s], by default 2 m/s (FAO-56 ch. 3); ``g`` soil heat flux, 0 for a day (Eq. 42). Not
    below 0.
    """
    tmax, tmin = _f(tmax_c), _f(tmin_c)
    ea = vapour_pressure_from_tmin(tmin) if ea_kpa is None else _f(ea_kpa)
    wind = _f(constant("wind_default")) if wind_2m is None else _f(wind_2m)
    rso = np.asarray((constant("clear_sky_base") + constant("clear_sky_per_metre") * _f(elevation_m)) * _f(ra))
    rn = net_radiation(net_shortwave_radiation(rs), net_longwave_radiation(tmax, tmin, ea, rs, rso))
    es = mean_saturation_vapour_pressure(tmax, tmin)
    result = penman_monteith((tmax + tmin) / 2, wind, es, ea, rn, g, atmospheric_pressure(elevation_m))
    return np.asarray(np.maximum(result, 0.0))


def et0_hargreaves(tmax_c: npt.ArrayLike, tmin_c: npt.ArrayLike, ra: npt.ArrayLike) -> FloatArray:
    """ET0 [mm/d] from temperature alone (Hargreaves, FAO-56 Eq. 52); ``ra`` [MJ/(m2 d)]. Not below 0.

    Meant for means of 5 days or more; too low in wind, too high in damp air.
    """
    tmax, tmin = _f(tmax_c), _f(tmin_c)
    warmth = (tmax + tmin) / 2 + constant("hargreaves_et_offset")
    span = np.sqrt(np.maximum(tmax - tmin, 0.0))
    evaporation = constant("pm_radiation") * _f(ra)
    return np.asarray(np.maximum(constant("hargreaves_et_factor") * warmth * span * evaporation, 0.0))
