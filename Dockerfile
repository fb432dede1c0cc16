# tapeline as an image: one static program on nothing.
#
#   docker build -t tapeline:VERSION .
#
# The build needs the repository's .git: the program learns its version from
# it, and every draft is stored with the version that made it.

FROM golang:1.26-bookworm AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN --mount=type=cache,target=/go/pkg/mod go mod download
COPY . .
RUN --mount=type=cache,target=/go/pkg/mod --mount=type=cache,target=/root/.cache/go-build \
    CGO_ENABLED=0 go build -buildvcs=true -trimpath -ldflags='-s -w' -o /out/tapeline ./cmd/tapeline
# The whole of the other image's /etc: an account, and whom to trust over TLS.
RUN mkdir -p /out/etc/ssl/certs \
    && echo 'tapeline:x:65532:65532::/:/sbin/nologin' > /out/etc/passwd \
    && echo 'tapeline:x:65532:' > /out/etc/group \
    && cp /etc/ssl/certs/ca-certificates.crt /out/etc/ssl/certs/

FROM scratch
COPY --from=build /out/ /
USER 65532:65532
ENV TAPELINE_ADDR=0.0.0.0:8080
EXPOSE 8080
# There is no Postgres in here: DATABASE_URL must be given.
ENTRYPOINT ["/tapeline"]
CMD ["serve"]
