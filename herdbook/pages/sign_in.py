"""Signing in and out.

The link that the terminal prints carries a key that works once. A request made without the reader
(a HEAD, a browser that fetches ahead) must not use it up.
"""

from django.contrib.auth import login
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.decorators import method_decorator
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables

from herdbook.book.services.opening import use_sign_in_key

from .common.error_messages import SignInForm


@method_decorator(never_cache, name="dispatch")
class SignIn(LoginView):
    """Sign in by a key in the address, or by name and password."""

    template_name = "signing/sign_in.html"
    authentication_form = SignInForm

    def dispatch(self, request: HttpRequest, *args, **kwargs) -> HttpResponse:
        # Opening an address with a key uses the key up, signed in already or not.
        self.redirect_authenticated_user = "key" not in request.GET
        response = super().dispatch(request, *args, **kwargs)
        # No other page may learn an address with a key. The password form must not have this
        # header: its browser would then send no referrer, and the form would be refused.
        if "key" in request.GET:
            response["Referrer-Policy"] = "no-referrer"
        return response

    @method_decorator(sensitive_variables())
    def get(self, request: HttpRequest, *args, **kwargs) -> HttpResponse:
        if "key" not in request.GET:
            return super().get(request, *args, **kwargs)
        if request.method == "HEAD":
            return HttpResponse()
        if _fetched_ahead(request):
            return HttpResponse(status=503)
        user = use_sign_in_key(request.GET["key"])
        if user is None and not request.user.is_authenticated:
            return render(request, "signing/key_refused.html", status=403)
        # Signing the same user in again would invalidate the tokens of forms that are open.
        if user is not None and user != request.user:
            login(request, user)
        return redirect(self.get_success_url())


def _fetched_ahead(request: HttpRequest) -> bool:
    told = request.headers.get("Sec-Purpose", "") + request.headers.get("Purpose", "")
    return "prefetch" in told or "preview" in told


urls = [
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(next_page="sign-in"), name="sign-out"),
]
