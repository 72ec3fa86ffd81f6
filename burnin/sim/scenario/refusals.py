"""Why a scenario of the simulated machine cannot be used, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class ScenarioRefusal(ReasonCode):
    """`faults` are reasons, one a field; `given` and `words` are the file's and its reader's."""

    NO_SUCH = "refused_scenario_no_such", "name", "why", "there"
    NO_SUCH_NEAR = "refused_scenario_no_such_near", "name", "why", "near", "there"
    NO_TOML = "refused_scenario_no_toml", "file", "words"
    FAULTS = "refused_scenario_faults", "faults"
    FIELD = "refused_scenario_field", "file", "field", "given", "words"
    FIELD_MISSING = "refused_scenario_field_missing", "file", "field"
    FIELD_TABLE = "refused_scenario_field_table", "file", "field", "words"
