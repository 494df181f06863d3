"""The register of quantities: every column that is read or written, with its unit and its words, described once."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Variable:
    """A column.

    name: CSV head and Python name; it ends in the suffix of its unit, if it has one. unit: as a reader sees it, ""
    for a number without one, a date or a name. label: axis label and help text.
    """

    name: str
    unit: str
    label: str

    @property
    def heading(self) -> str:
        """Label and unit, as an axis or the head of a printed table shows them."""
        return f"{self.label} ({self.unit})" if self.unit else self.label


REGISTER = {
    variable.name: variable
    for variable in (
        Variable("date", "", "Date"),
        # Weather
        Variable("rain_mm", "mm", "Rain"),
        Variable("et0_mm", "mm", "Reference evapotranspiration ET0"),
        Variable("tmin_c", "°C", "Lowest temperature of the day"),
        Variable("tmax_c", "°C", "Highest temperature of the day"),
        Variable("tmean_c", "°C", "Mean temperature of the day"),
        Variable("rh_mean_pct", "%", "Mean relative humidity"),
        Variable("rh_min_pct", "%", "Lowest relative humidity"),
        Variable("rh_max_pct", "%", "Highest relative humidity"),
        Variable("wind_m_s", "m/s", "Mean wind speed"),
        Variable("solar_mj_m2", "MJ/m²", "Solar radiation of the day"),
        Variable("sun_hours", "h", "Hours of bright sunshine"),
        # Roofs
        Variable("roof", "", "Roof"),
        Variable("on_roof_l", "L", "Rain on the roof"),
        Variable("caught_l", "L", "Caught from the roof"),
        Variable("flushed_l", "L", "Thrown away by the first flush"),
        Variable("filter_l", "L", "Lost at the filter"),
        Variable("kept_l", "L", "Kept by the roof"),
        # Stores
        Variable("tank", "", "Store"),
        Variable("capacity_l", "L", "Full"),
        Variable("dead_l", "L", "Outlet"),
        Variable("level_l", "L", "Level"),
        Variable("inflow_l", "L", "Water in"),
        Variable("mains_l", "L", "Mains"),
        Variable("moved_in_l", "L", "Moved in from another store"),
        Variable("moved_out_l", "L", "Moved out into another store"),
        Variable("asked_l", "L", "Asked for"),
        Variable("drawn_l", "L", "Drawn"),
        Variable("drawn_mains_l", "L", "Mains water in what was drawn"),
        Variable("short_l", "L", "Short"),
        Variable("spilled_l", "L", "Spilled"),
        Variable("lost_l", "L", "Lost by leaks and evaporation"),
        # Zones and other draws
        Variable("zone", "", "Zone or draw"),
        Variable("store_l", "L", "Given from the store"),
        Variable("rain_l", "L", "Rain in what the store gave"),
        Variable("unmet_l", "L", "Asked for but not given"),
        Variable("minutes_run", "min", "Time the valve was open"),
        # Beds
        Variable("bed", "", "Bed"),
        Variable("kc", "", "Crop coefficient Kc"),
        Variable("kcb", "", "Basal crop coefficient Kcb"),
        Variable("ke", "", "Evaporation coefficient Ke"),
        Variable("etc_mm", "mm", "Water use of a well-watered crop ETc"),
        Variable("ks", "", "Water stress coefficient Ks"),
        Variable("eta_mm", "mm", "Actual water use ETa"),
        Variable("e_mm", "mm", "Evaporated from the surface"),
        Variable("irrigation_mm", "mm", "Watering that reached the roots"),
        Variable("drained_mm", "mm", "Drained below the roots"),
        Variable("subsoil_mm", "mm", "Depletion left to the subsoil"),
        Variable("taw_mm", "mm", "Total available water TAW"),
        Variable("raw_mm", "mm", "Readily available water RAW"),
        Variable("depletion_mm", "mm", "Root zone depletion Dr"),
        Variable("left_pct", "%", "Water left"),
        Variable("de_mm", "mm", "Depletion of the top layer De"),
        # Whole runs
        Variable("mains_days", "", "Days with mains water"),
        Variable("unmet_days", "", "Days on which some watering was not done"),
        Variable("ban_days", "", "Days on which mains water was banned"),
        Variable("fed_l", "L", "Came in from springs and other inflows"),
        Variable("transferred_l", "L", "Moved from store to store"),
        Variable("moved_l", "L", "Moved by a transfer"),
        Variable("volume_reliability", "", "Share of the water asked for that stored rain gave"),
        Variable("day_reliability", "", "Share of the days with a demand on which no store was short"),
        Variable("work_minutes_per_week", "min", "Time that the plan takes somebody in a week"),
        Variable("start_l", "L", "Level at the start"),
        Variable("end_l", "L", "Level at the end"),
        Variable("lowest_l", "L", "Lowest level"),
        Variable("planted_days", "", "Days with something planted"),
        Variable("stress_days", "", "Planted days on which the bed was thirsty"),
        Variable("eta_over_etc", "", "Share of the need that was met"),
        Variable("overwatered_mm", "mm", "Watering that drained below the roots"),
        # Years
        Variable("year", "", "Year"),
        Variable("days_lasted", "", "Days that the stored rain lasts"),
        Variable("first_short", "", "First day short"),
        Variable("first_mains", "", "First day with mains"),
        Variable("needed_l", "L", "Mains water that all the watering takes"),
        # Plans in a hot spell
        Variable("given_l", "L", "Given"),
        Variable("given_mains_l", "L", "Mains water in what was given"),
        Variable("yield_at_risk", "", "Share of the yield at risk"),
        Variable("with_valves_yield_at_risk", "", "Share of the yield at risk with a valve for each bed"),
        Variable("with_rations_yield_at_risk", "", "Share of the yield at risk with draws rationed"),
        Variable("saved_by_ten_litres", "", "Share of the yield that ten litres more save"),
        Variable("plans_tried", "", "Plans that were tried"),
        Variable("plans_lasting", "", "Plans that last without mains water"),
        # Odds
        Variable("years", "", "Years"),
        Variable("years_behind", "", "Recorded years behind a chance"),
        Variable("share", "", "Share of the years"),
        Variable("warmer_c", "°C", "Warmth added to every day"),
        Variable("rain_factor", "", "Factor on every rain"),
        Variable("seed", "", "Seed of the draw"),
        # A watering line
        Variable("flow_l_min", "L/min", "Flow"),
        Variable("flow_l_h", "L/h", "Flow of a jet"),
        Variable("minutes_left", "min", "Running time until the store is at its dead volume"),
        Variable("jet", "", "Jet"),
        Variable("jets_more", "", "More jets that keep their working pressure"),
        Variable("along_m", "m", "Along the pipe from the tee"),
        Variable("pressure_m", "m", "Pressure, in metres of water"),
        Variable("eu_pct", "%", "Emission uniformity EU"),
        Variable("du_pct", "%", "Distribution uniformity DU of the low quarter"),
        Variable("cu_pct", "%", "Christiansen's coefficient CU"),
        Variable("run_l", "L", "Water of a run"),
        Variable("run_mm", "mm", "Depth of a run at the roots"),
        Variable("opening", "", "Opening, as a share of the jet's flow"),
        Variable("open_jets", "", "Open jets"),
        Variable("flow_error", "", "Standard error, as a share of the flow"),
        Variable("jets", "", "Jets of a kind"),
        Variable("site_file_k_l_h", "L/h", "Flow at 1 m of pressure in the site file"),
        Variable("k_l_h", "L/h", "Flow at 1 m of pressure"),
        Variable("least_k_l_h", "L/h", "Least flow at 1 m of pressure"),
        Variable("most_k_l_h", "L/h", "Greatest flow at 1 m of pressure"),
        Variable("all_flow_l_min", "L/min", "Flow with all jets open as in the site file"),
        Variable("least", "", "Least value that the errors leave"),
        Variable("most", "", "Greatest value that the errors leave"),
        Variable("cups", "", "Cups"),
        Variable("minutes", "min", "Minutes of water"),
        Variable("mean_ml", "mL", "Mean of the cups"),
        Variable("mm_per_min", "mm/min", "Depth in a minute"),
        Variable("need_mm", "mm", "Depth that the beds need"),
        Variable("minutes_for_driest", "min", "Minutes until the driest quarter has what it needs"),
        Variable("bed_factor", "", "Mean of a bed's cups over that of all"),
        Variable("minutes_per_charge", "min", "Running time on a charge"),
        Variable("runs_per_charge", "", "Whole runs on a charge"),
        Variable("runs_per_week", "", "Runs a week"),
        Variable("charges_per_week", "", "Charges a week"),
        Variable("efficiency", "", "Efficiency from battery to water"),
        # Tables of the handbook
        Variable("available_water_mm_m", "mm/m", "Available water of the soil"),
        Variable("low_mm_m", "mm/m", "Least available water printed"),
        Variable("high_mm_m", "mm/m", "Most available water printed"),
        Variable("rew_mm", "mm", "Readily evaporable water of the top layer"),
        Variable("tew_mm", "mm", "Total evaporable water of the top layer"),
        Variable("runoff_coefficient", "", "Share of the rain that runs off, after the loss"),
        Variable("loss_mm", "mm", "Rain that wets the roof on each day with rain"),
        Variable("yearly_coefficient", "", "Share of a year's rain that runs off"),
        Variable("height_m", "m", "Full height of the crop"),
        Variable("low", "", "Least share in the sources"),
        Variable("high", "", "Largest share in the sources"),
        Variable("p", "", "Share of the water that is readily available"),
        Variable("root_full_m", "m", "Depth of full roots"),
        # Today
        Variable("rain_today_mm", "mm", "Rain logged today"),
        Variable("usual_rain_mm_per_week", "mm", "Usual rain of a week at this time of the year"),
        Variable("weather_age_days", "", "Days since the last known weather"),
        Variable("age_days", "", "Days since it was read"),
        Variable("looked_days", "", "Days ahead that were looked at"),
        Variable("lasts_dry_days", "", "Days that it lasts when it stays dry"),
        Variable("lasts_usual_days", "", "Days that it lasts with the usual rain"),
        Variable("lasts_expected_days", "", "Days that it lasts with the forecast rain"),
        Variable("reckoned_l", "L", "Level that was reckoned"),
        Variable("level_share", "", "Level as a share of full"),
        Variable("raw_used", "", "Share of the readily available water that is used up"),
        Variable("wet_days", "", "Days on which it rained"),
        Variable("thirsty_in_days", "", "Days until it is thirsty when it stays dry, by the plan"),
        Variable("unwatered_in_days", "", "Days until it is thirsty when it stays dry, unwatered"),
        Variable("usual_in_days", "", "Days until it is thirsty with the usual rain, by the plan"),
        Variable("work_minutes", "min", "Time that it takes somebody"),
        Variable("sunk_share", "", "Share of the watering that sinks below the roots"),
        Variable("enough_share", "", "Share of the minutes that would do"),
        # The journal
        Variable("line", "", "Line of the journal"),
        Variable("value", "", "Value, in the unit that is named beside it"),
        Variable("depth_cm", "cm", "Depth in the store"),
        Variable("undone_by", "", "Line that takes it back"),
        # Measured against modelled
        Variable("levels", "", "Measured levels"),
        Variable("measured_l", "L", "Measured level"),
        Variable("site_file_l", "L", "Level modelled with what the site file says"),
        Variable("fitted_l", "L", "Level modelled with what fits best"),
        Variable("miss_site_file_l", "L", "Root mean square miss with what the site file says"),
        Variable("miss_fitted_l", "L", "Root mean square miss with what fits best"),
        Variable("site_file", "", "Value in the site file"),
        Variable("fitted", "", "Value that fits best"),
        Variable("standard_error", "", "Standard error"),
        Variable("correlation", "", "Correlation of two estimates"),
        Variable("days", "", "Days"),
        Variable("logged", "", "Logged amount"),
        Variable("other_days", "", "Days without a line in the journal"),
        Variable("other", "", "Amount of those days, or of the model"),
    )
}
