"""The five sites of the small logs: invented, and none of the generated twelve."""

from demo_data.small_log import SmallLog
from demo_data.small_sites.marl import MARL
from demo_data.small_sites.nessel import NESSEL
from demo_data.small_sites.oakum import OAKUM
from demo_data.small_sites.pumice import PUMICE
from demo_data.small_sites.quartz import QUARTZ

SMALL_LOGS: tuple[SmallLog, ...] = (MARL, NESSEL, OAKUM, PUMICE, QUARTZ)
