"""Results as plain dictionaries for JSON."""

from tapmark.measures.catalogue import row
from tapmark.measures.doubts import what_helps
from tapmark.measures.result import Measured, Result, Results


def as_dict(results: Results) -> dict[str, object]:
    """Return results for JSON: every key that holds a number ends in its unit."""
    return {
        "view": results.view,
        "context": results.context,
        "near_side": results.near_side,
        "rate_per_s": results.rate_hz,
        "effective_rate_per_s": results.effective_hz,
        "is_fast_enough_for_all_rows": results.is_fast,
        "graded_as": results.graded_as,
        "n_steps": results.n_steps,
        "leg_length_from": results.leg_source,
        "ticks": dict(results.ticks),
        "guesses": list(results.guesses),
        "checks": [
            {
                "name": check.name,
                "words": check.words,
                "step": check.i_step + 1,
                "key_frame": check.event,
                "point": check.point,
            }
            for check in results.checks
        ],
        "measures": [_row_as_dict(results, result) for result in results.rows.values()],
        "others": [as_dict(other) for other in results.others],
    }


def _row_as_dict(results: Results, result: Result) -> dict[str, object]:
    told = row(result.key)
    named: dict[str, object] = {"key": result.key, "name": told.name, "leg": result.leg}
    named["foot"] = foot(results, result.leg)
    if not isinstance(result, Measured):
        return named | {"reason": result.reason}
    unit = told.unit_in_keys
    return named | {
        f"value_{unit}": result.value,
        f"plus_minus_95_{unit}": result.plus_minus,
        f"u_{unit}": result.u,
        f"u_set_up_{unit}": result.u_set_up,
        f"bias_{unit}": result.bias,
        f"u_bias_{unit}": result.u_bias,
        f"u_corrected_{unit}": result.u_corrected,
        "parts": [{"of": words, f"u_{unit}": sd} for words, sd in result.parts],
        "helps_most": what_helps(result),
        "is_about": result.is_about,
        "not_graded": result.not_graded,
        "capped": result.capped,
        "n_steps": result.n_steps,
        "sign": told.sign,
        "formula": told.formula,
    }


def foot(results: Results, leg: str) -> str:
    """Return "right" or "left" for a leg of the results, "" where no leg is meant.

    From behind or in front the foot that was marked is the near one.
    """
    if results.view != "side":
        return results.near_side
    other = "left" if results.near_side == "right" else "right"
    return {"near": results.near_side, "far": other}.get(leg, "")
