#!/bin/sh
# Makes the orders of a table with GNU parallel, here or on the machines of
# --sshlogin, an order a process:
#
#   parallel.sh ORDERS KITS [FLAGS OF PARALLEL]
set -eu
orders=$1 kits=$2
shift 2
n=$("${KITWRIGHT:-kitwright}" batch "$orders" --count)
seq "$n" | parallel "$@" "${KITWRIGHT:-kitwright}" batch "$orders" --out "$kits" --row {} --quiet --failed-is-fine
"${KITWRIGHT:-kitwright}" batch --gather "$kits"
