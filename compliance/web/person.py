"""One person, for administrators: their posts, their account, and a lock or a lost second factor."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods, require_POST

from compliance.web.invitation import send_link
from compliance.web.notice import tell_owner
from compliance.web.people import lines_of
from compliance.web.people_form import PostForm
from compliance.web.signed_in import SignedInRequest
from roster.accounts.people import close_account, forget_factor, lift_lock, open_account
from roster.accounts.posts import end_post, give_post
from roster.accounts.reach import Reach, is_over
from roster.models import Post, Role, User


@require_http_methods(["GET", "POST"])
def person(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show the person, and give them a post."""
    reach = Reach(request.user)
    shown = get_object_or_404(reach.people, pk=pk)
    form = PostForm(request.POST if request.method == "POST" else None, reach=reach)
    if request.method == "POST" and form.is_valid() and (post := _given(request, shown, form)):
        messages.success(request, f"Given: {_what(post)}.")
        return redirect("person", shown.pk)
    context = {
        "person": shown,
        "line": lines_of([shown], reach)[0],
        "past": [post for post in reach.posts.filter(user=shown).order_by("-ends_on") if is_over(post)],
        "elsewhere": Post.objects.filter(user=shown).exclude(pk__in=reach.posts.values("pk")).exists(),
        "may_touch": reach.may_touch(shown),
        "is_self": shown == request.user,
        "rooms": reach.classrooms.filter(site__in=_sites_of(shown)),
        "form": form,
    }
    return render(request, "people/person.html", context)


def _sites_of(shown: User) -> set[int]:
    """Where the person works or has worked: there they may be asked to stand in, by one touch."""
    held = Post.objects.filter(user=shown).select_related("site", "classroom__site")
    return {post.place.pk for post in held if post.place}


def _given(request: SignedInRequest, shown: User, form: PostForm) -> Post | None:
    try:
        return give_post(by=request.user, user=shown, role=Role(form.cleaned_data["role"]), **form.post())
    except ValidationError as error:
        form.take(error)
        return None


def _what(post: Post) -> str:
    return f"{post.get_role_display()}, {post.child or post.classroom or post.site or 'all sites'}"


@require_POST
def post_end(request: SignedInRequest, pk: int) -> HttpResponse:
    """End a post at once."""
    post = get_object_or_404(Reach(request.user).posts, pk=pk)
    what, owner = _what(post), post.user_id
    try:
        end_post(by=request.user, post=post)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, f"Ended: {what}. It opens nothing any more.")
    return redirect("person", owner)


@require_POST
def person_account(request: SignedInRequest, pk: int) -> HttpResponse:
    """Do what the button says: close or open the account, lift a lock, mail a new link, forget the second factor."""
    shown = get_object_or_404(Reach(request.user).people, pk=pk)
    what = request.POST.get("do", "")
    if what not in DOINGS:
        messages.error(request, "Nothing was done: press one of the buttons.")
        return redirect("person", shown.pk)
    try:
        told = DOINGS[what](request.user, shown)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, told)
    return redirect("person", shown.pk)


def _close(by: User, shown: User) -> str:
    close_account(by=by, person=shown)
    return f"The account of {shown} is closed, and its sessions have ended."


def _open(by: User, shown: User) -> str:
    open_account(by=by, person=shown)
    return f"The account of {shown} is open again."


def _lift(by: User, shown: User) -> str:
    lift_lock(by=by, person=shown)
    return f"{shown} can try to sign in again."


def _forget(by: User, shown: User) -> str:
    if not forget_factor(by=by, person=shown):
        return f"{shown} has no second factor."
    tell_owner(shown, "an administrator took away the second factor of your account.")
    return f"The second factor of {shown} is taken away. Where their posts ask for one, they set up another at sign-in."


def _link(by: User, shown: User) -> str:
    if not Reach(by).may_touch(shown):
        raise ValidationError("This account is not yours to change. Ask another administrator.", code="reach")
    if not shown.is_active:
        raise ValidationError("The account is closed. Open it first.", code="closed")
    if not send_link(shown):
        raise ValidationError(
            "No mail could be sent: there is no address on record, or mail is not set up. Whoever runs the service can "
            "make a link with the command invite.",
            code="mail",
        )
    return f"A link to set a new password went to {shown.email}. It works once."


DOINGS = {"close": _close, "open": _open, "lift": _lift, "forget": _forget, "link": _link}

urls = [
    path("people/<int:pk>/", person, name="person"),
    path("people/<int:pk>/account/", person_account, name="person-account"),
    path("people/posts/<int:pk>/end/", post_end, name="post-end"),
]
