#!/usr/bin/env bash
# Installs the Debian packages that tests and `make demo-bluetooth` use, only where missing, and says so.
set -euo pipefail
PATH="$PATH:/usr/sbin:/sbin"
missing=()
need() { command -v "$1" >/dev/null 2>&1 || missing+=("$2"); }
need dbus-daemon dbus
need chromium chromium
need espeak-ng espeak-ng
need certutil libnss3-tools
need mosquitto mosquitto
need npm npm
need systemd-analyze systemd
need openssl openssl
need faketime faketime
[ ${#missing[@]} -eq 0 ] && exit 0
command -v apt-get >/dev/null 2>&1 || { echo "Please install these by hand: ${missing[*]}" >&2; exit 1; }
sudo=(); [ "$(id -u)" -eq 0 ] || sudo=(sudo)
echo "Installing from Debian: ${missing[*]}"
"${sudo[@]}" apt-get -qq update
DEBIAN_FRONTEND=noninteractive "${sudo[@]}" apt-get -qq -y --no-install-recommends install "${missing[@]}" >/dev/null
