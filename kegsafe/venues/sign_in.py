"""Signing in: a person and their roles come in one query."""

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import User

from kegsafe.venues.models import Membership


class MembershipBackend(ModelBackend):
    """Fetch a signed-in person together with their active memberships and venues.

    Every page needs both. One query here is one query less on the pour check,
    which staff open dozens of times a night.
    """

    def get_user(self, user_id: int) -> User | None:
        memberships = list(
            Membership.objects.filter(user=user_id, is_active=True).select_related("user", "venue")
        )
        user = memberships[0].user if memberships else super().get_user(user_id)
        if user is None or not self.user_can_authenticate(user):
            return None
        user.active_memberships = memberships
        return user
