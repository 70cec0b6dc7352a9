"""A class on one machine: the settings of JupyterHub that `python -m gearcalc hub FOLDER` starts it with.

It is started in FOLDER/.hub, which is closed to all others: the database, the secret of the cookies. Beside that each
learner has a folder, by the name they sign in with. The command sets the variables asked for below; without it:

    cd FOLDER/.hub && GEARCALC_HUB_PASSWORD_FILE=PASSWORD_FILE jupyterhub -f THIS_FILE
"""

import os
import signal
import sys
from functools import partial
from pathlib import Path

from gearcalc.basics.files import data_folder
from gearcalc.serving import hub_words, learner_accounts

c = get_config()  # noqa: F821  (JupyterHub hands it over)


def said(name: str, otherwise: str) -> str:
    return os.environ.get(f"GEARCALC_HUB_{name}") or otherwise


port = int(said("PORT", "8000"))
learners = int(said("LEARNERS", "30"))
memory = int(said("MEMORY_MB", "1024")) * 2**20
idle_seconds = int(said("IDLE_MINUTES", "60")) * 60

# Who may sign in: whoever knows the password, under any name. Nobody is an administrator.
c.JupyterHub.authenticator_class = said("SIGN_IN", "shared-password")
if c.JupyterHub.authenticator_class == "shared-password":
    c.SharedPasswordAuthenticator.user_password = Path(os.environ["GEARCALC_HUB_PASSWORD_FILE"]).read_text().strip()
    c.SharedPasswordAuthenticator.allow_all = True
# A name is the name of a folder too: words of letters and figures, with one sign between. The page to sign in says so.
c.Authenticator.username_pattern = hub_words.NAMES
c.JupyterHub.template_paths = [str(data_folder() / "hub" / "templates")]
c.JupyterHub.template_vars = {
    "names": hub_words.NAMES,
    "names_are": hub_words.NAMES_ARE,
    "can_be_a_name": lambda user: hub_words.can_be_a_name,
}

# Where it listens: on this computer alone, unless the command is given --lan. The other two are for itself.
c.JupyterHub.bind_url = f"http://{said('ADDRESS', '127.0.0.1')}:{port}"
c.ConfigurableHTTPProxy.api_url = f"http://127.0.0.1:{port + 1}"
c.JupyterHub.hub_bind_url = f"http://127.0.0.1:{port + 81}"
# What its own pages may load and do: nothing of another host, in no frame. Their scripts stand in the pages themselves.
policy = (
    "default-src 'self'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
)
policy += "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
headers = {"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "Content-Security-Policy": policy}
c.JupyterHub.tornado_settings = {"headers": headers}
# With a certificate nobody on the network can read along; then the address begins with https:
# c.JupyterHub.ssl_cert, c.JupyterHub.ssl_key = "/etc/ssl/school.crt", "/etc/ssl/private/school.key"

# How a server is started for each. Their code runs in an account of the system for each, if the superuser started this.
c.JupyterHub.spawner_class = "simple"
c.SimpleLocalProcessSpawner.home_dir_template = str(Path.cwd().parent / "{username}")
# What no program of theirs may exceed; where systemd runs one can have a limit for all programs of a learner together:
# limits = ["systemd-run", "--quiet", "--scope", "--collect", "-p", f"MemoryMax={memory}", "-p", "TasksMax=300", "--"]
limits = ["prlimit", f"--as={memory}", "--core=0"]
if learner_accounts.each_has_an_account():
    limits += ["--nproc=300"]
c.Spawner.mem_limit = memory
c.Spawner.pre_spawn_hook = partial(learner_accounts.begin, limits=limits)
c.Spawner.post_stop_hook = learner_accounts.end
c.Spawner.environment = {
    "OMP_NUM_THREADS": "1",  # a lesson never gains by more, and each takes memory
    "OPENBLAS_NUM_THREADS": "1",
    "MALLOC_ARENA_MAX": "2",
}
c.Spawner.default_url = "/lab/tree/00_start_here.ipynb"
c.Spawner.args = [
    # Kernels are spoken to through files that only their owner opens. One port of this computer each kernel has all the
    # same: it takes what processes forked from it print, and nothing without a secret that the kernel alone knows. The
    # debugger would open another, without one: jupyter/labconfig/ takes it away.
    "--KernelManager.transport=ipc",
    "--ServerApp.terminals_enabled=False",
    "--LabApp.extension_manager=readonly",
    "--LabApp.news_url=None",
    "--LanguageServerManager.autodetect=False",  # it would look for language servers by npm at each start
]

# All of a class at once, and no more than that; on a busy machine a server takes a while.
c.JupyterHub.concurrent_spawn_limit = learners
c.JupyterHub.active_server_limit = learners
c.Spawner.start_timeout = 180
c.Spawner.http_timeout = 180
# It is asked to end, then told to, then ended; work is saved as it is done, so that nothing is to be waited for.
c.LocalProcessSpawner.interrupt_timeout = 5
c.LocalProcessSpawner.term_timeout = 2
c.LocalProcessSpawner.kill_timeout = 2

# A server that nobody has used for a while is ended; its files stay.
culler = [sys.executable, "-P", "-m", "jupyterhub_idle_culler"]
culler += [f"--timeout={idle_seconds}", f"--cull-every={min(idle_seconds // 2, 300)}"]
c.JupyterHub.services = [{"name": "idle-culler", "command": culler}]
scopes = ["list:users", "read:users:activity", "read:servers", "delete:servers"]
c.JupyterHub.load_roles = [{"name": "idle-culler", "scopes": scopes, "services": ["idle-culler"]}]

# A terminal that is closed ends all as Ctrl-C does; started with nohup it goes on.
if signal.getsignal(signal.SIGHUP) == signal.SIG_DFL:
    signal.signal(signal.SIGHUP, lambda *_: os.kill(os.getpid(), signal.SIGTERM))

level = said("LOG_LEVEL", "WARN")  # INFO tells every sign-in and every page
c.JupyterHub.log_level = level
c.ConfigurableHTTPProxy.log_level = level.lower()
c.Spawner.args += [f"--Application.log_level={level if level == 'INFO' else 'ERROR'}"]
# All that it and the programs it starts say goes into a file; the terminal shows what a person can use. Without LOG it
# all comes to the terminal.
if said("LOG", ""):
    terminal = hub_words.log_apart(Path(said("LOG", "")), hub_words.servers_that_run)
    terminal.tell_when_open(port)
    c.JupyterHub.extra_log_handlers = [terminal]
c.JupyterHub.pid_file = "jupyterhub.pid"  # with the proxy's own, which tells whether a hub of this folder still runs

# The school's own settings have the last word: its sign-in, its certificate, another spawner.
if said("SETTINGS", ""):
    load_subconfig(said("SETTINGS", ""))  # noqa: F821
