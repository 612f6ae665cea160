"""What people of the scenario do with cylinders, gauges and valves."""

from collections.abc import Callable, Mapping

PRESSURE: Mapping[str, Callable[..., None]] = {}
