#!/bin/sh
# Copies Plumbline to the plugin folders of this user, replacing an older version there. Asks nothing.
#   sh install.sh                    the user's own folders
#   sh install.sh --prefix FOLDER    FOLDER/clap and FOLDER/vst3 (macOS: FOLDER/CLAP and FOLDER/VST3)
# VST3 hosts look for presets in a folder of its own; presets of your own that lie there stay.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
prefix=
case "${1-}" in
    --prefix) prefix=${2:?--prefix needs a folder} ;;
    --prefix=?*) prefix=${1#--prefix=} ;;
    '') ;;
    *) echo "usage: sh install.sh [--prefix FOLDER]" >&2; exit 2 ;;
esac

if command -v sha256sum >/dev/null 2>&1; then
    (cd "$here" && sha256sum --check --quiet SHA256SUMS)
elif command -v shasum >/dev/null 2>&1; then
    (cd "$here" && shasum -a 256 --check SHA256SUMS >/dev/null)
else
    echo "neither sha256sum nor shasum: the files are not checked" >&2
fi

if [ "$(uname -s)" = Darwin ]; then
    presets=${prefix:-$HOME/Library/Audio}/Presets
    prefix=${prefix:-$HOME/Library/Audio/Plug-Ins}
    clap=$prefix/CLAP vst3=$prefix/VST3
elif [ -n "$prefix" ]; then
    clap=$prefix/clap vst3=$prefix/vst3 presets=$prefix/vst3/presets
else
    clap=$HOME/.clap vst3=$HOME/.vst3 presets=$HOME/.vst3/presets
fi

place() {
    mkdir -p "$2"
    rm -rf "$2/.plumbline-new"
    cp -R "$here/$1" "$2/.plumbline-new"
    rm -rf "${2:?}/$1"
    mv "$2/.plumbline-new" "$2/$1"
    echo "installed: $2/$1"
}
place plumbline.clap "$clap"
place plumbline.vst3 "$vst3"
mkdir -p "$presets/Plumbline/Plumbline"
cp -R "$here/presets/." "$presets/Plumbline/Plumbline"
echo "installed: $presets/Plumbline/Plumbline"
