"""What the shop's tests share."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from tests.shop_cases import make_branch, make_customer, make_machine, make_user

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Customer, Machine


@pytest.fixture
def branch(db: None) -> Branch:
    return make_branch()


@pytest.fixture
def other_branch(db: None) -> Branch:
    return make_branch("South yard")


@pytest.fixture
def people(branch: Branch) -> dict[Role, User]:
    """One person per role in the branch."""
    return {role: make_user(branch, role) for role in Role}


@pytest.fixture
def signed_in(people: dict[Role, User]) -> Callable[[Role], Client]:
    """A browser of somebody with a role in the branch."""

    def client_of(role: Role = Role.SPECIALIST) -> Client:
        client = Client()
        client.force_login(people[role])
        return client

    return client_of


@pytest.fixture
def specialist(signed_in: Callable[[Role], Client]) -> Client:
    return signed_in(Role.SPECIALIST)


@pytest.fixture
def viewer(signed_in: Callable[[Role], Client]) -> Client:
    return signed_in(Role.VIEWER)


@pytest.fixture
def stranger(other_branch: Branch) -> Client:
    """A browser of a manager of the other branch."""
    client = Client()
    client.force_login(make_user(other_branch, Role.MANAGER))
    return client


@pytest.fixture
def customer(branch: Branch) -> Customer:
    return make_customer(branch)


@pytest.fixture
def machine(customer: Customer) -> Machine:
    return make_machine(customer)
