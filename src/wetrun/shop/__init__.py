"""The shop: the bench as a web application, for a dealership with branches, people and machines on record.

Inside, arrows point down too: pages and work, answers, typed, records, jobs, accounts. Everything that is computed
comes from the rooms below the shop; what is here finds records, asks, and answers.
"""
