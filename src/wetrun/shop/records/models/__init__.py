"""The records of a shop. Rules live in the rooms below the shop; a record only keeps."""

from wetrun.shop.records.models.base import BranchRecord
from wetrun.shop.records.models.catalogue import Catalogue, ColumnMap
from wetrun.shop.records.models.changeover import Changeover, ChangeoverNote
from wetrun.shop.records.models.customer import Customer
from wetrun.shop.records.models.field_log import FieldLog, Replay
from wetrun.shop.records.models.handover import Handover, MonitorSettings
from wetrun.shop.records.models.machine import Machine
from wetrun.shop.records.models.season import Season, TipPlan
from wetrun.shop.records.models.trail import Trail
from wetrun.shop.records.models.upkeep import Booking, FillBook, FilledLoad, MachineEvent, YardRules
from wetrun.shop.records.models.wet_run import Reading, WetRun

__all__ = [
    "Booking",
    "BranchRecord",
    "Catalogue",
    "Changeover",
    "ChangeoverNote",
    "ColumnMap",
    "Customer",
    "FieldLog",
    "FillBook",
    "FilledLoad",
    "Handover",
    "Machine",
    "MachineEvent",
    "MonitorSettings",
    "Reading",
    "Replay",
    "Season",
    "TipPlan",
    "Trail",
    "WetRun",
    "YardRules",
]
